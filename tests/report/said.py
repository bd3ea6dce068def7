"""What an answer says, as the command line prints it without colours."""

from collections.abc import Iterable, Iterator

from knitlog.report.drawing import LETTERS
from knitlog.report.parts import Part, laid_out


def lines_of(parts: Iterable[Part]) -> Iterator[str]:
    """An answer as lines of text, an empty one between two parts."""
    for line in laid_out(parts, LETTERS):
        yield line if isinstance(line, str) else "".join(run.text for run in line).rstrip()
