"""Project names to file names that are safe on every system."""

import re
import unicodedata

_RESERVED = {"con", "prn", "aux", "nul", *(f"{d}{n}" for d in ("com", "lpt") for n in range(10))}
"""Names some systems keep for devices, whatever their suffix."""
_MAX_BYTES = 80


def slug_of(name: str) -> str:
    """Give a file name, without suffix, for a project's name.

    Letters and digits of any script stay, in lower case; everything else becomes a
    hyphen, so that no name can climb out of its folder.

    >>> slug_of("../Hut shawl, no. 2")
    'hut-shawl-no-2'
    """
    folded = unicodedata.normalize("NFC", unicodedata.normalize("NFKC", name).casefold())
    slug = re.sub(r"[\W_]+", "-", folded).strip("-")
    while len(slug.encode()) > _MAX_BYTES:
        slug = slug[:-1].rstrip("-")
    if not slug:
        return "project"
    return f"{slug}-project" if slug in _RESERVED else slug
