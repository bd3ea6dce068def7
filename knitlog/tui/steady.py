"""An app that goes on when something in it breaks.

What is logged is on disk before anything is shown, so a picture that cannot be drawn is no
reason to leave: it is told in a line, the keys go on, and the journal stays open.  With
``KNITLOG_DEBUG`` set a report is written that can be sent.

Why around the dispatch of messages: the framework ends a widget's loop, and the program, at the
first error in one of them, its own included.
"""

from __future__ import annotations

import asyncio
import os
import platform
import sys
import time
import traceback
from collections import deque
from collections.abc import Awaitable, Callable, Mapping
from functools import partial
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

from textual import constants
from textual._context import active_message_pump
from textual.app import App
from textual.await_complete import AwaitComplete
from textual.screen import Screen
from textual.widget import Widget
from textual.worker import active_worker

if TYPE_CHECKING:
    from textual.actions import ActionParseResult
    from textual.dom import DOMNode
    from textual.driver import Driver
    from textual.message import Message

Dispatch = Callable[["Message"], Awaitable[None]]

PLACE = 2
"""Screens on the stack when nothing lies on top: the framework's own blank one, and the place."""
_TOO_MANY, _WITHIN_SECONDS = 25, 5.0
"""Errors in so short a time: the picture breaks again each time it is drawn."""
_TOLD = "Something here could not be shown. What you logged is saved, and the keys go on."
_ASK = " For a report to send, start knitlog with KNITLOG_DEBUG=1."
_END = "knitlog could not draw its screens. Everything logged is saved."


class SteadyApp(App[None]):
    """Tells of an error in a line, and goes on."""

    def __init__(self, *, reports: Path, ansi_color: bool | None = None) -> None:
        """``reports``: the folder a report is written to, where one is asked for."""
        super().__init__(ansi_color=ansi_color)
        self._reports = reports
        self._errors: deque[float] = deque(maxlen=_TOO_MANY)
        self._telling = False

    def get_driver_class(self) -> type[Driver]:
        """The framework's driver; on a terminal as we know it, one that leaves at once."""
        if sys.platform == "win32" or constants.DRIVER:
            return super().get_driver_class()
        from knitlog.tui.leaving import PromptDriver

        return PromptDriver

    def _start_widget(self, parent: Widget, widget: Widget) -> None:
        self._watch_over(widget)
        super()._start_widget(parent, widget)

    def _register_child(
        self, parent: DOMNode, child: Widget, before: int | None, after: int | None
    ) -> None:
        self._watch_over(child)
        super()._register_child(parent, child, before, after)

    def _watch_over(self, widget: Widget) -> None:
        """Guard all messages of a widget that is about to be started."""
        guarded = partial(self._guard, widget._dispatch_message)
        widget._dispatch_message = guarded  # type: ignore[method-assign]

    async def _dispatch_message(self, message: Message) -> None:
        await self._guard(super()._dispatch_message, message)

    async def _guard(self, dispatch: Dispatch, message: Message) -> None:
        try:
            await dispatch(message)
        except asyncio.CancelledError:
            task = asyncio.current_task()
            if task is None or task.cancelling():
                raise  # this loop itself is to end
        except Exception as error:
            self._handle_exception(error)

    def _is_left(self, widget: Widget) -> bool:
        """Whether it is on its way out: what it can no longer find, nobody misses."""
        nodes = widget.ancestors_with_self
        screen = next((node for node in nodes if isinstance(node, Screen)), None)
        return screen not in self.screen_stack or any(
            node._pruning for node in nodes if isinstance(node, Widget)
        )

    def _handle_exception(self, error: Exception) -> None:
        """Note what went wrong; tell of it, and go on."""
        worker = active_worker.get(None)
        at = active_message_pump.get(None) if worker is None else worker.node
        if isinstance(at, Widget) and self._is_left(at):
            return
        if self._exception is None:  # for whoever tests: the first is raised when all is done
            self._exception = error
            self._exception_event.set()
        if self._exit:
            return  # leaving already
        if not self._running:
            super()._handle_exception(error)  # there is no screen to tell it on
            return
        self._errors.append(time.monotonic())
        if len(self._errors) == _TOO_MANY and self._errors[-1] - self._errors[0] < _WITHIN_SECONDS:
            self.exit(return_code=1, message=_END + ("" if _reporting() else _ASK))
            return
        if not self._telling:
            self._telling = True
            try:
                self._tell(error)
            except Exception:
                self.bell()  # not even a line can be shown
            finally:
                self._telling = False

    def _tell(self, error: Exception) -> None:
        told = _TOLD + _ASK
        if _reporting():
            told = f"{_TOLD} The report: {self._report(error)}"
        self.notify(told, severity="error", timeout=10, markup=False)

    def _report(self, error: Exception) -> Path:
        """Write where it went wrong, and on which screen; not what she knits."""
        from knitlog.journal.disk import create_file, make_folder
        from knitlog.report.fabric_file import free_path

        path = free_path(self._reports, "report", ".txt")
        make_folder(path.parent)
        lines = [
            f"knitlog {version('knitlog')}, textual {version('textual')}, "
            f"Python {platform.python_version()}, {platform.system()}",
            f"{self.size.width} by {self.size.height}, {self.console.color_system}",
            "screens: " + ", ".join(type(screen).__name__ for screen in self.screen_stack),
            "",
            *traceback.format_exception(error),
        ]
        create_file(path, "\n".join(lines).encode())
        return path

    async def run_action(
        self,
        action: str | ActionParseResult,
        default_namespace: DOMNode | None = None,
        namespaces: Mapping[str, DOMNode] | None = None,
    ) -> bool:
        """Do what a key or the palette asks, unless the screen it was for has been left."""
        if isinstance(default_namespace, Widget) and self._is_left(default_namespace):
            return False
        return await super().run_action(action, default_namespace, namespaces)

    def pop_screen(self) -> AwaitComplete:
        """Leave the screen on top; the place stays, however often it is asked."""
        if len(self.screen_stack) <= PLACE:
            return AwaitComplete()
        self.workers.cancel_node(self.screen)
        return super().pop_screen()

    def switch_screen(self, screen: Screen[Any] | str) -> AwaitComplete:
        """Put ``screen`` in the place of the one on top; what that was working out ends."""
        self.workers.cancel_node(self.screen)
        return super().switch_screen(screen)


def _reporting() -> bool:
    return bool(os.environ.get("KNITLOG_DEBUG"))
