"""A screen's keys in words, from its own bindings."""

from __future__ import annotations

from collections.abc import Iterable

from textual.binding import Binding, BindingsMap

KeyLine = tuple[str, str]
"""A key as shown, and what it does."""

_NAMES = {
    "question_mark": "?",
    "pageup": "Page up",
    "pagedown": "Page down",
    "up": "↑",
    "down": "↓",
    "escape": "Esc",
    "enter": "Enter",
}


def key_name(keys: str) -> str:
    """A binding's keys as they stand on a keyboard.

    >>> key_name("question_mark,f1"), key_name("ctrl+z")
    ('? F1', 'Ctrl+Z')
    """
    return " ".join(_one(key.strip()) for key in keys.split(","))


def key_lines(bindings: Iterable[Binding]) -> list[KeyLine]:
    """Each thing that can be done once, with all its keys, in the order they are declared."""
    lines: dict[str, tuple[list[str], str]] = {}
    for binding in bindings:
        words = binding.tooltip
        if not words:
            continue  # the framework's own, such as Tab
        keys, _ = lines.setdefault(binding.action, ([], words))
        keys.append(binding.key_display or key_name(binding.key))
    return [(" ".join(keys), words) for keys, words in lines.values()]


def all_bindings(bindings: BindingsMap) -> list[Binding]:
    """Every binding of a screen, in the order declared."""
    return [binding for found in bindings.key_to_bindings.values() for binding in found]


def _one(key: str) -> str:
    if key in _NAMES:
        return _NAMES[key]
    if "+" in key:
        return "+".join(part.capitalize() for part in key.split("+"))
    if len(key) > 1 and key[0] == "f" and key[1:].isdigit():
        return key.upper()
    return key if len(key) == 1 else key.capitalize()
