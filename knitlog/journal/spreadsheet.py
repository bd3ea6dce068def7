"""Text in a CSV cell that no spreadsheet takes for a formula.

A cell that begins with ``=``, ``+``, ``-`` or ``@`` may be run by a spreadsheet, and a
program that parts columns at another character than we do may find such a beginning
in the middle of a cell.  An apostrophe in front makes it text everywhere (the advice of
OWASP, 'CSV Injection'); reading takes the apostrophe off again.
"""

import re

_STARTERS = "=+\\-@'|%\uff1d\uff0b\uff0d\uff20"
_BEGINNINGS = r"((?:^|[;,|:\t\r\n\"])\s*)"
_GUARD = re.compile(f"{_BEGINNINGS}(?=[{_STARTERS}])")
_UNGUARD = re.compile(f"{_BEGINNINGS}'(?=[{_STARTERS}])")


def guarded(text: str) -> str:
    """Put an apostrophe wherever a formula could begin.

    >>> guarded("=1+1")
    "'=1+1"
    """
    return _GUARD.sub(r"\1'", text)


def unguarded(text: str) -> str:
    """Take off what :func:`guarded` put on.

    >>> unguarded("'=1+1")
    '=1+1'
    """
    return _UNGUARD.sub(r"\1", text)
