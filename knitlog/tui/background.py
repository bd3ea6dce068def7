"""Working something out beside the screens: in a thread that ends with the program.

Why not the framework's thread workers: they keep the program from ending until they are done,
and speak to a screen that may have been left meanwhile.  Here an asynchronous worker of the
screen awaits the answer: it is cancelled when the screen is left, and nothing in the thread
knows of screens at all.
"""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from typing import TypeVar

Answer = TypeVar("Answer")

_TURN = threading.Lock()
"""Held by whoever works out something long: one at a time, so that keys are heard meanwhile."""


async def in_thread(ask: Callable[[], Answer], *, in_turn: bool = True) -> Answer:
    """Ask in a thread and wait for the answer without holding up the screens.

    ``in_turn``: wait for what is being worked out already; what nobody waits for any longer
    when its turn comes is not begun.  False for what takes next to no time.

    Raises:
        Exception: whatever ``ask`` raised.

    """
    loop = asyncio.get_running_loop()
    waiting: asyncio.Future[Answer] = loop.create_future()

    def settle(answer: Answer | None, error: Exception | None) -> None:
        if waiting.done():
            return  # the screen was left
        if error is not None:
            waiting.set_exception(error)
        else:
            waiting.set_result(answer)  # type: ignore[arg-type]

    def work() -> None:
        answer, trouble = None, None
        try:
            if not in_turn:
                answer = ask()
            else:
                with _TURN:
                    if waiting.cancelled():
                        return
                    answer = ask()
        except Exception as error:
            trouble = error
        try:
            loop.call_soon_threadsafe(settle, answer, trouble)
        except RuntimeError:
            return  # the program is leaving

    threading.Thread(target=work, name="knitlog works it out", daemon=True).start()
    return await waiting
