"""Numbers as knitters write them, and lists of them.

A decimal point or a decimal comma, halves as ``½`` or ``1/2``, a sign; no exponents and no
infinities, which nobody counts stitches in.  A comma that can be read two ways is asked
about: 1,524 is a thousand and more to one and one and a half to another.
"""

import re
from decimal import Decimal

from knitlog.typed.text import TypedError, plain_text, quoted

VULGAR = {"½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8",
          "⅝": "5/8", "⅞": "7/8"}  # fmt: skip
"""Fractions of one character, as two numbers with a stroke between."""
_NUMBER = re.compile(
    r"""(?P<sign>[+-]?)(?:
        (?P<whole>[0-9]{0,15})(?P<decimals>[.,][0-9]{0,40})?(?P<fraction>\s+[0-9]{1,3}/[0-9]{1,3})?
        |(?P<only>[0-9]{1,3}/[0-9]{1,3}))""",
    re.VERBOSE,
)
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+")
_EXPONENT = re.compile(r"[+-]?[0-9]{1,15}(?:[.,][0-9]{0,15})?[eE][+-]?[0-9]{1,3}")
_TOO_LONG = re.compile(r"[+-]?[0-9]{16,}(?:[.,][0-9]*)?|[+-]?[0-9]*[.,][0-9]{41,}")
_YES_OR_NO = {
    **dict.fromkeys(("yes", "y", "true", "1", "on"), True),
    **dict.fromkeys(("no", "n", "false", "0", "off"), False),
}


def spelled_out(text: str) -> str:
    """Give text with ``½`` and its like as ``1/2``, and a printer's minus as a plain one.

    >>> spelled_out("37½")
    '37 1/2'
    """
    for sign, fraction in VULGAR.items():
        text = text.replace(sign, f" {fraction}")
    return text.replace("\u2212", "-").strip()


def parse_number(text: str, example: str = "37 or 37.5") -> float:
    """Read a number; ``example`` is what to type instead, in the sentence.

    Raises:
        TypedError: it is none, or its comma can be read two ways.

    >>> parse_number("37,5"), parse_number("-1½"), parse_number("10 1/4")
    (37.5, -1.5, 10.25)
    """
    typed, spelled = text.strip(), spelled_out(text)
    found = _NUMBER.fullmatch(spelled)
    if found is None or not re.search("[0-9]", spelled):
        raise TypedError(_no_number(typed, example))
    digits = (found["whole"] or "") + (found["decimals"] or "")
    if _THOUSANDS.fullmatch(digits):
        raise TypedError(
            f"The comma in {quoted(typed)} can be read two ways; type "
            f"{digits.replace(',', '')} or {digits.replace(',', '.')}."
        )
    value = float(digits.replace(",", ".")) if digits else 0.0
    fraction = found["only"] or found["fraction"]
    if fraction is not None:
        if found["decimals"]:  # .5 1/2
            raise TypedError(_no_number(typed, example))
        value += _fraction(fraction, typed)
    return -value if found["sign"] == "-" else value


def _fraction(text: str, typed: str) -> float:
    top, _, bottom = text.strip().partition("/")
    if not int(bottom):
        raise TypedError(f"{quoted(typed)} divides by zero; type the fraction as 1/2.")
    return int(top) / int(bottom)


def _no_number(typed: str, example: str) -> str:
    if _EXPONENT.fullmatch(typed):
        value = float(typed.replace(",", "."))
        if 1e-6 < abs(value) < 1e9:
            example = format_number(value)
        return f"{quoted(typed)} is not a number here; write it out, as {example}."
    if _TOO_LONG.fullmatch(typed):
        return f"{quoted(typed)} has more digits than any number here; type it as {example}."
    return f"{quoted(typed)} is not a number; type it as {example}."


def parse_whole(
    text: str,
    example: str = "128",
    *,
    least: int | None = None,
    most: int | None = None,
    what: str = "number",
) -> int:
    """Read a whole number, from ``least`` to ``most``; 4.0 from a spreadsheet is 4.

    Raises:
        TypedError: it is none, or not within; ``what`` names it in the sentence.

    >>> parse_whole("4.0")
    4
    """
    value = parse_number(text, example)
    if value != int(value):
        raise TypedError(f"{quoted(text.strip())} is not a whole number; type it as {example}.")
    within(value, what, example, least=least, most=most)
    return int(value)


def within(
    value: float,
    what: str,
    example: str,
    *,
    least: float | None = None,
    most: float | None = None,
) -> float:
    """Give a number back that lies between ``least`` and ``most``.

    Raises:
        TypedError: it does not.

    """
    if (least is not None and value < least) or (most is not None and value > most):
        if most is None:
            bounds = f"{least:,g} or more"
        else:
            upper = f"{most:,.12g}"
            bounds = f"{upper} or less" if least is None else f"from {least:,g} to {upper}"
        raise TypedError(
            f"The {what} cannot be {quoted(format_number(value))}; type {bounds}, as {example}."
        )
    return value


def parse_percent(text: str, example: str = "5") -> float:
    """Read a share of a hundred, with or without its sign.

    Raises:
        TypedError: it is none.

    >>> parse_percent("2,5 %")
    2.5
    """
    return parse_number(text.strip().removesuffix("%"), example)


def parse_yes_or_no(text: str) -> bool:
    """Read yes or no.

    Raises:
        TypedError: it is neither.

    >>> parse_yes_or_no("Yes"), parse_yes_or_no("0")
    (True, False)
    """
    found = _YES_OR_NO.get(text.strip().lower())
    if found is None:
        raise TypedError(f"{quoted(text.strip())} is neither; type yes or no.")
    return found


def parse_list(text: str) -> list[str]:
    """Part what was typed into the items of a list; empty ones are left out.

    Semicolons and new lines part.  A comma parts only where it cannot be a decimal comma:
    before a space, after a letter, beside a decimal point, or where one number would have two.

    Raises:
        TypedError: a comma can be read both ways.

    >>> parse_list("74,5; 75"), parse_list("4,5mm, 5mm"), parse_list("127,127.5")
    (['74,5', '75'], ['4,5mm', '5mm'], ['127', '127.5'])
    """
    firmly = [part for line in re.split(r"[;\n]", text) for part in _at_plain_commas(line)]
    firmly = [part.strip() for part in firmly if part.strip()]
    items = []
    for part in firmly:
        commas = len(re.findall(r"(?<=[0-9]),(?=[0-9])", part))
        if commas > 1 or (commas and "." in part):
            items += [item.strip() for item in part.split(",")]
        elif commas and len(firmly) == 1 and ";" not in text and _is_bare(part):
            shown = plain_text(part[:40])
            raise TypedError(
                f"{quoted(part)} could be one number or two; type {shown.replace(',', '.')}, or "
                f"{shown.replace(',', '; ')}."
            )
        else:
            items.append(part)
    return items


def _at_plain_commas(text: str) -> list[str]:
    """Part at the commas that do not stand between two digits."""
    return re.split(r",(?![0-9])|(?<![0-9]),", text)


def _is_bare(text: str) -> bool:
    """True for digits and a comma without a unit: with one, two items would need two."""
    return not re.search(r"[^\W\d]", text)


def parse_numbers(text: str, example: str = "1; 2") -> list[float]:
    """Read a list of numbers.

    Raises:
        TypedError: as :func:`parse_list`, or an item is no number.

    >>> parse_numbers("74,5; 75")
    [74.5, 75.0]
    """
    return [parse_number(item, example) for item in parse_list(text)]


def format_number(value: float) -> str:
    """Write a number so that :func:`parse_number` gives the same one back.

    >>> format_number(37.0), format_number(1e-05)
    ('37', '0.00001')
    """
    text = format(Decimal(repr(value)), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
