"""What the options of the commands take, read by the one reader of what is typed.

Each type names one reader of :mod:`knitlog.typed`; what will not do ends the command with
the reader's own sentence.  The reader is only looked up when a value is there to be read.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

import click


class Typed(click.ParamType):  # type: ignore[type-arg]  # generic in some versions
    """One kind of value, read by a function of :mod:`knitlog.typed`."""

    def __init__(self, name: str, module: str, reader: str, **how: Any) -> None:
        """``reader`` of ``module`` reads it; ``how`` is handed on to it."""
        self.name = name
        self._module, self._reader, self._how = module, reader, how

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Read what was typed; what a default already is stays as it is."""
        if not isinstance(value, str):
            return value
        read = getattr(import_module(f"knitlog.typed.{self._module}"), self._reader)
        try:
            return read(value, **self._how)
        except ValueError as error:
            self.fail(str(error), param, ctx)


def whole(least: int, most: int, example: str, what: str = "number") -> Typed:
    """Whole numbers from ``least`` to ``most``."""
    return Typed("N", "numbers", "parse_whole", least=least, most=most, example=example, what=what)


def number(example: str) -> Typed:
    """Any number, as in ``example``."""
    return Typed("N", "numbers", "parse_number", example=example)


ROUND = Typed("N", "measures", "parse_round")
STITCH_COUNT = whole(2, 10_000, "128", "stitch count")
ROUNDS = Typed("N", "measures", "parse_round", what="number of rounds")
LAST_LEFT = Typed("N", "measures", "parse_round", least=0)
"""The last round that stays, where some are ripped: none of them may."""
STITCHES = Typed("STITCHES", "measures", "parse_stitches")
TENSION = Typed("PERCENT", "numbers", "parse_percent", example="+2 or -1.5")
SEED = whole(0, 2**32 - 1, "7", "seed")
"""What a generator of random numbers is begun with."""
