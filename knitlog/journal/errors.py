"""What the journal says when something is wrong.

Every error carries one plain sentence for the knitter: what was wrong and what
to do instead.  Nothing here, or raised from here, needs a traceback to be read.
"""

from typing import Any

from pydantic import ValidationError

from knitlog.typed.text import quoted


class JournalError(ValueError):
    """Something the knitter can act on; ``str()`` of it is the sentence to show."""


class JournalMissingError(JournalError):
    """The journal, or the folder it lay in, is not there."""


class JournalExistsError(JournalError):
    """There is such a file already."""


class JournalReadOnlyError(JournalError):
    """The journal can be read but must not, or cannot, be written."""


class NotSavedError(JournalError):
    """The disk did not take an entry: it was not acknowledged, so type it again."""


_WORDS = {
    "positions": "number of colour changes",
    "stitch": "stitch position",
    "stitches": "stitch count",
    "at": "time",
    "homes": "home",
    "how": "way of fixing",
    "percent": "tension",
    "tension_percent": "tension",
    "taken_out": "fix",
}
"""Fields whose names are not yet what a knitter would call them."""


def sentence_of(error: ValidationError) -> str:
    """Turn a validation error into one sentence: what was wrong and what would do."""
    first = error.errors(include_url=False)[0]
    kind, context = str(first["type"]), first.get("ctx", {})
    if kind == "value_error":
        return str(first["msg"]).removeprefix("Value error, ")
    names = [str(part) for part in first["loc"] if isinstance(part, str) and part != "[key]"]
    field = names[-1] if names else "entry"
    if kind == "extra_forbidden":
        return f"There is nothing called {quoted(field)} to set."
    words = _WORDS.get(field, field.replace("_mm", "").replace("_", " "))
    if kind == "missing":
        return f"The {words} must be given."
    return f"The {words} cannot be {_shown(first['input'])}: it must be {_wanted(kind, context)}."


def _shown(value: object) -> str:
    if isinstance(value, int | float):
        return quoted(f"{value:.12g}" if isinstance(value, float) else str(value))
    return quoted(value)


def _wanted(kind: str, context: dict[str, Any]) -> str:
    """Say what would have been right."""
    match kind:
        case "greater_than_equal":
            return f"{context['ge']:,.9g} or more"
        case "greater_than":
            return f"above {context['gt']:,.9g}"
        case "less_than_equal":
            return f"{context['le']:,.9g} or less"
        case "string_too_short" | "too_short":
            return "one or more" if kind == "too_short" else "one letter or more"
        case "string_too_long":
            return f"{context['max_length']:,} characters at most"
        case "too_long":
            return f"{context['max_length']:,} at most"
        case "int_type" | "int_from_float" | "int_parsing_size":
            return "a whole number"
        case "float_type" | "finite_number":
            return "a plain number"
        case "bool_type":
            return "yes or no"
        case "string_type" | "string_unicode":
            return "plain text"
        case "string_pattern_mismatch":
            return "a colour such as #cc6677"
        case _:
            return "something else; check it"
