"""Every key of every screen and sheet: it does what it is bound to, is named, and is tried.

What each key then brings about is tried key by key in the tests beside this one; here nothing
may be left out.  The keys are pressed on the walk of ``test_pictures.py``, which goes to every
screen and sheet.
"""

import ast
import importlib
import pkgutil
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from textual import events
from textual.app import App
from textual.binding import Binding
from textual.dom import DOMNode
from textual.keys import _character_to_key
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Input

import knitlog.tui.modals
import knitlog.tui.screens
from knitlog.tui.app import KnitlogApp
from knitlog.tui.key_lines import all_bindings, key_name
from knitlog.tui.modals.reading import HelpSheet
from knitlog.tui.modals.sheet import Sheet
from knitlog.tui.screens.base import READING_KEYS, KnitScreen, common_keys
from knitlog.tui.screens.needles import NeedlesScreen
from knitlog.tui.screens.projects import ProjectsScreen
from knitlog.tui.widgets.entry_line import RoundInput

from .conftest import settled, shown

HERE = Path(__file__).parent
SAME_KEY = {"equals_sign": "plus", "f1": "question_mark", "question_mark": "f1"} | {
    str(number): "2" for number in range(3, 10)
}
"""Other keys for the same, of which one tried is enough."""
SAVES_A_FILE = {"page": "picture"}
"""What p saves: the page of a review, the picture of a fabric."""
CLOSES_TOO = ("w", "l", "f1", "question_mark")
"""Keys that opened a sheet and close it again: on it, Esc is named."""


def our_screens() -> dict[str, type[Screen[Any]]]:
    """Our screens and sheets by name, those that are only built upon aside."""
    found: dict[str, type[Screen[Any]]] = {}
    for package in (knitlog.tui.screens, knitlog.tui.modals):
        for info in pkgutil.iter_modules(package.__path__, f"{package.__name__}."):
            for thing in vars(importlib.import_module(info.name)).values():
                if isinstance(thing, type) and issubclass(thing, Screen):
                    found[thing.__name__] = thing
    built_upon = {base.__name__ for thing in found.values() for base in thing.__mro__[1:]}
    return {name: thing for name, thing in found.items() if name not in built_upon}


def own_bindings(screen: type[Screen[Any]]) -> list[Binding]:
    """What is bound by the screen itself, and by ours that it is built upon.

    A key that means something else on the screen than on what it is built upon is its own.
    """
    ours = [base for base in screen.__mro__ if base.__module__.startswith("knitlog.")]
    by_key: dict[str, list[Binding]] = {}
    for base in reversed(ours):
        here: dict[str, list[Binding]] = {}
        for binding in base.__dict__.get("BINDINGS", ()):
            for key in map(str.strip, binding.key.split(",")):
                bound = Binding(key, *list(vars_of(binding).values())[1:])
                here.setdefault(key, []).append(bound)
        by_key |= here
    return [binding for bindings in by_key.values() for binding in bindings]


def vars_of(binding: Binding) -> dict[str, Any]:
    return {name: getattr(binding, name) for name in Binding.__dataclass_fields__}


def typed_there(screen: Screen[Any], key: str) -> bool:
    """Whether the line in focus takes the key for itself, as letters on a form."""
    focused = screen.focused
    form = isinstance(focused, Input) and not isinstance(focused, RoundInput)
    return form and (len(key) == 1 or key == "question_mark")


async def done_by(pilot: Pilot[None], keys: list[str]) -> Counter[str]:
    """How often each action is asked for by these keys, one after the other; none is done."""
    screen, app = pilot.app.screen, pilot.app
    asked: Counter[str] = Counter()

    async def spy(namespace: DOMNode, action_name: str, params: Any) -> bool:
        ours = namespace in (screen, app)
        if ours:
            words = ", ".join(repr(param) for param in params)
            asked[f"{action_name}({words})" if params else action_name] += 1
        return ours  # a widget that has nothing to scroll lets the key go on

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(app, "_dispatch_action", spy)
        for key in keys:
            character = key if len(key) == 1 else {"question_mark": "?", "plus": "+"}.get(key)
            app.post_message(events.Key(key, character))
        await settled(pilot)
    return asked


async def key_faults(pilot: Pilot[None]) -> list[tuple[object, ...]]:
    """What is wrong with the keys of the screen that is shown; none of them is done."""
    return [*await _wrong_keys(pilot), *await _unnamed(pilot)]


async def _wrong_keys(pilot: Pilot[None]) -> list[tuple[object, ...]]:
    screen, app = pilot.app.screen, pilot.app
    bindings = own_bindings(type(screen))
    if isinstance(screen, KnitScreen):
        bindings += own_bindings_of_app(app, {binding.key for binding in bindings})
    bindings = [binding for binding in bindings if not typed_there(screen, binding.key)]
    asked = await done_by(pilot, [binding.key for binding in bindings])
    wanted = Counter(binding.action.removeprefix("app.") for binding in bindings)
    return [(action, "is asked for too seldom", asked[action]) for action in wanted - asked]


def own_bindings_of_app(app: App[Any], taken: set[str]) -> list[Binding]:
    """What the app binds, besides what the screen has for itself."""
    return [
        binding
        for binding in KnitlogApp.BINDINGS
        if isinstance(binding, Binding) and binding.key not in taken
    ]


async def _unnamed(pilot: Pilot[None]) -> list[tuple[object, ...]]:
    """What is bound and named nowhere: in help and palette of a screen, on the face of a sheet."""
    screen, app = pilot.app.screen, pilot.app
    bindings = own_bindings(type(screen))
    if isinstance(screen, Sheet):
        face = shown(app)
        return [
            (binding.key, "is not on the sheet")
            for binding in bindings
            if binding.tooltip
            and binding.key not in CLOSES_TOO
            and key_name(binding.key) not in face
            and binding.key not in face
        ]
    assert isinstance(app, KnitlogApp)
    palette = {command.title for command in app.get_system_commands(screen)}
    screen.action_help()
    await settled(pilot)
    assert isinstance(app.screen, HelpSheet)
    helped = {words: keys for keys, words in app.screen._keys}
    app.pop_screen()
    await settled(pilot)
    found: list[tuple[object, ...]] = []
    for binding in all_bindings(screen._bindings):
        if not binding.tooltip:
            continue
        if binding.tooltip.rstrip(".") not in palette:
            found.append((binding.key, "is not in the palette"))
        named = binding.key_display or key_name(binding.key)
        if named not in helped.get(binding.tooltip, ""):
            found.append((binding.key, "is not in the help"))
    return found


def test_one_letter_means_one_thing_on_every_screen() -> None:
    meant: dict[str, dict[str, str]] = {}
    for name, screen in our_screens().items():
        if name == "ConfirmSheet":
            continue  # y and n are yes and no to a question
        for binding in own_bindings(screen):
            deed = binding.action.removeprefix("app.").split("(")[0]
            if len(binding.key) == 1 and binding.key.isalpha() and deed != "leave":
                meant.setdefault(binding.key, {})[SAVES_A_FILE.get(deed, deed)] = name
    assert {key: deeds for key, deeds in meant.items() if len(deeds) > 1} == {}
    assert len(meant) > 20


def test_every_screen_is_one_key_away_from_the_list_and_the_needles() -> None:
    ways = {"app.projects", "app.needles", "app.fabric", "app.plan", "review", "my_hands"}
    for screen in (ProjectsScreen, NeedlesScreen):
        bound = {binding.action for binding in [*own_bindings(screen), *KnitlogApp.BINDINGS]}
        assert ways <= bound
        seen = {b.action for b in own_bindings(screen) if b.show}
        assert {"app.fabric", "help"} <= seen  # the futures, the best picture there is


def test_every_key_is_tried_by_a_test_of_its_screen() -> None:
    words = {path: _words(path) for path in HERE.glob("test_*.py") if path.name != "test_keys.py"}
    shared = {(key.key, key.action) for key in (*common_keys(), *READING_KEYS)}
    untried = []
    for name, screen in our_screens().items():
        beside = set().union(*(said for said in words.values() if name in said))
        for binding in screen.__dict__.get("BINDINGS", ()):
            common = (binding.key, binding.action) in shared
            among = set().union(*words.values()) if common else beside
            keys = {key.strip() for key in binding.key.split(",")}
            keys |= {SAME_KEY[key] for key in keys if key in SAME_KEY}
            if not keys & among:
                untried.append((name, binding.key))
    assert not untried, "\n".join(map(str, untried))


def _words(path: Path) -> set[str]:
    """Every word of a test file: the names it uses, and the texts in it."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    names = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    texts = {
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    return names | texts | {_character_to_key(text) for text in texts if len(text) == 1}
