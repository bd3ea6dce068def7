"""Text that is safe to show.

Names and notes may come from a file somebody sent.  A terminal obeys escape
sequences, and direction marks make one text look like another, so everything
that is shown goes through :func:`plain_text` first.
"""

import unicodedata

_CONTROL_PICTURES = 0x2400
_DELETE = 0x7F
_DELETE_PICTURE = "\u2421"
_UNSHOWABLE = "\ufffd"
_JOINERS = {"\u200c", "\u200d"}
"""Zero-width (non-)joiners: several scripts and most joined emoji need them."""
_MARKS_IN_A_ROW = 4
"""Combining marks kept on one letter; more would smear over the lines above."""


def plain_text(text: str, *, lines: bool = False) -> str:
    r"""Give ``text`` with everything a terminal might obey replaced by a visible sign.

    Control characters become their Unicode control pictures (escape is shown as
    ``\u241b``); direction marks, unpaired surrogates and other invisible characters
    become ``\ufffd``; tabs, odd spaces and line breaks become spaces (line breaks are kept if
    ``lines`` is true).

    >>> plain_text("wool\x1b[31m") == "wool\u241b[31m"
    True
    """
    if text.isascii() and text.isprintable():
        return text
    shown: list[str] = []
    marks = 0
    for char in text.replace("\r\n", "\n"):
        category = unicodedata.category(char)
        if category in ("Mn", "Me"):
            marks += 1
            if marks <= _MARKS_IN_A_ROW:
                shown.append(char)
            continue
        marks = 0
        shown.append(_plain(char, category, lines))
    return "".join(shown)


def _plain(char: str, category: str, lines: bool) -> str:
    if char in "\n\r\u2028\u2029\x85":
        return "\n" if lines else " "
    if char == "\t" or category == "Zs":
        return " "
    if category == "Cc":
        code = ord(char)
        if code < 0x20:
            return chr(_CONTROL_PICTURES + code)
        return _DELETE_PICTURE if code == _DELETE else _UNSHOWABLE
    if category in ("Cf", "Cs", "Co", "Cn") and char not in _JOINERS:
        return _UNSHOWABLE
    return char


def quoted(value: object, limit: int = 40) -> str:
    """Give any value in quotes for a sentence: made plain, and cut short when long."""
    text = value if isinstance(value, str) else repr(value)
    text = plain_text(text[: limit + 1])
    return f"'{text[:limit]}...'" if len(text) > limit else f"'{text}'"


class TypedError(ValueError):
    """What was typed cannot be read; ``str()`` of it is one sentence to show as it stands."""


def as_sentence(error: Exception) -> str:
    """Give an error of a lower room as a whole sentence, safe to show and not endless."""
    text = plain_text(str(error))
    text = text[:1].upper() + text[1:]
    if len(text) > 240:  # it quotes something endless; its advice stands at the end
        text = f"{text[:100]}...{text[-120:]}"
    return text if text.endswith((".", "?")) else f"{text}."
