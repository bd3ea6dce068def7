"""Rows of words in columns, for text."""

from collections.abc import Iterator, Sequence


def table(rows: Sequence[Sequence[str]], *, numbers_right: bool = True) -> Iterator[str]:
    """Give rows in columns as wide as their widest cell; words left, numbers right if wished.

    >>> list(table([("Rounds", "Drift"), ("1-9", "+1.2")]))
    ['Rounds  Drift', '1-9      +1.2']
    """
    if not rows:
        return
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    for row in rows:
        cells = [
            cell.rjust(width) if i and numbers_right and _is_number(cell) else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        yield "  ".join(cells).rstrip()


def _is_number(cell: str) -> bool:
    return cell == "-" or cell.strip("+-%.0123456789 ") == ""
