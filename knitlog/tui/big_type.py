"""A few words in letters three lines tall, to be read at arm's length.

Why: the knitter looks up for two seconds.  The letters are drawn here, five
dots high, and set two dots a character cell with the half blocks every
terminal font has.  Only the verdict's headline is set this way; the sentence
under it says the same in ordinary type, for screen readers and for copying.
"""

HEIGHT = 3
"""Lines of a headline."""

_GLYPHS: dict[str, tuple[str, ...]] = {
    "A": (" ## ", "#  #", "####", "#  #", "#  #"),
    "B": ("### ", "#  #", "### ", "#  #", "### "),
    "C": (" ###", "#   ", "#   ", "#   ", " ###"),
    "D": ("### ", "#  #", "#  #", "#  #", "### "),
    "E": ("####", "#   ", "### ", "#   ", "####"),
    "F": ("####", "#   ", "### ", "#   ", "#   "),
    "G": (" ###", "#   ", "# ##", "#  #", " ###"),
    "H": ("#  #", "#  #", "####", "#  #", "#  #"),
    "I": ("#", "#", "#", "#", "#"),
    "J": ("   #", "   #", "   #", "#  #", " ## "),
    "K": ("#  #", "# # ", "##  ", "# # ", "#  #"),
    "L": ("#   ", "#   ", "#   ", "#   ", "####"),
    "M": ("#   #", "## ##", "# # #", "#   #", "#   #"),
    "N": ("#   #", "##  #", "# # #", "#  ##", "#   #"),
    "O": (" ## ", "#  #", "#  #", "#  #", " ## "),
    "P": ("### ", "#  #", "### ", "#   ", "#   "),
    "Q": (" ## ", "#  #", "#  #", "# ##", " ###"),
    "R": ("### ", "#  #", "### ", "# # ", "#  #"),
    "S": (" ###", "#   ", " ## ", "   #", "### "),
    "T": ("#####", "  #  ", "  #  ", "  #  ", "  #  "),
    "U": ("#  #", "#  #", "#  #", "#  #", " ## "),
    "V": ("#   #", "#   #", " # # ", " # # ", "  #  "),
    "W": ("#   #", "#   #", "# # #", "## ##", "#   #"),
    "X": ("#  #", "#  #", " ## ", "#  #", "#  #"),
    "Y": ("#   #", " # # ", "  #  ", "  #  ", "  #  "),
    "Z": ("####", "  # ", " #  ", "#   ", "####"),
    "0": (" ## ", "#  #", "#  #", "#  #", " ## "),
    "1": (" # ", "## ", " # ", " # ", "###"),
    "2": ("### ", "   #", " ## ", "#   ", "####"),
    "3": ("### ", "   #", " ## ", "   #", "### "),
    "4": ("#  #", "#  #", "####", "   #", "   #"),
    "5": ("####", "#   ", "### ", "   #", "### "),
    "6": (" ## ", "#   ", "### ", "#  #", " ## "),
    "7": ("####", "   #", "  # ", " #  ", " #  "),
    "8": (" ## ", "#  #", " ## ", "#  #", " ## "),
    "9": (" ## ", "#  #", " ###", "   #", " ## "),
    "+": ("   ", " # ", "###", " # ", "   "),
    "-": ("   ", "   ", "###", "   ", "   "),
    ".": (" ", " ", " ", " ", "#"),
    ",": ("  ", "  ", "  ", " #", "# "),
    "?": ("### ", "   #", " ## ", "    ", " #  "),
    "!": ("#", "#", "#", " ", "#"),
    " ": (" ", " ", " ", " ", " "),
}

_HALVES = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}


def set_big(words: str) -> tuple[str, ...] | None:
    r"""Set ``words`` in big letters: ``HEIGHT`` lines of one length, or None.

    None when a character has no big letter (the caller then uses bold type).

    >>> print("\n".join(line.rstrip() for line in set_big("hi") or ()))
    █  █ █
    █▀▀█ █
    ▀  ▀ ▀
    """
    glyphs = []
    for character in words.upper():
        glyph = _GLYPHS.get(character)
        if glyph is None:
            return None
        glyphs.append(glyph)
    dots = [" ".join(rows) for rows in zip(*glyphs, strict=True)] if glyphs else [""] * 5
    dots.append(" " * len(dots[0]))
    return tuple(
        "".join(
            _HALVES[(upper == "#", lower == "#")] for upper, lower in zip(top, bottom, strict=True)
        )
        for top, bottom in zip(dots[0::2], dots[1::2], strict=True)
    )
