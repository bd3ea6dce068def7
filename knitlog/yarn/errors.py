"""The one error of this room: a clear sentence about what was typed.

A screen or a command shows the sentence as it stands, so it always says what
was wrong and what to type instead.
"""


class YarnError(ValueError):
    """Something about the yarn, needle or gauge makes no sense as given."""
