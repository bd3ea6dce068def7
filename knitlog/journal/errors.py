"""What the journal says when something is wrong.

Every error carries one plain sentence for the knitter: what was wrong and what
to do instead.  Nothing here, or raised from here, needs a traceback to be read.
"""

from pydantic import ValidationError

from knitlog.journal.text import quoted


class JournalError(ValueError):
    """Something the knitter can act on; ``str()`` of it is the sentence to show."""


class JournalMissingError(JournalError):
    """The journal, or the folder it lay in, is not there."""


class JournalReadOnlyError(JournalError):
    """The journal can be read but must not, or cannot, be written."""


class NotSavedError(JournalError):
    """The disk did not take an entry: it was not acknowledged, so type it again."""


def sentence_of(error: ValidationError) -> str:
    """Turn a validation error into one sentence, from the field's own description."""
    first = error.errors(include_url=False, include_context=False)[0]
    place = [str(part) for part in first["loc"]]
    message = str(first["msg"]).removeprefix("Value error, ")
    if first["type"] == "value_error":
        return message
    name = next((part for part in reversed(place) if not part.isdigit()), "entry")
    words = name.replace("_mm", "").replace("_", " ")
    if first["type"] == "missing":
        return f"The {words} is missing."
    if first["type"] == "extra_forbidden":
        return f"There is no such thing as {quoted(words)} here."
    message = message[:1].lower() + message[1:]
    return f"The {words} cannot be {quoted(first['input'])}: {message}."
