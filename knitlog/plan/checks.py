"""The one error of this room: a clear sentence about what was asked."""


class PlanError(ValueError):
    """Something in the plan makes no sense as given."""


def check_positive(value: float, what: str, example: str) -> None:
    """Refuse a quantity that is not a finite number above zero.

    Raises:
        PlanError: naming ``what`` and, as ``example``, what to type.

    """
    if not 0 < value < float("inf"):
        raise PlanError(f"the {what} must be above zero, not {value:g}: type it {example}")


def check_not_negative(value: float, what: str, example: str) -> None:
    """Refuse a quantity below zero or not finite.

    Raises:
        PlanError: naming ``what`` and, as ``example``, what to type.

    """
    if not 0 <= value < float("inf"):
        raise PlanError(f"the {what} cannot be {value:g}: type it {example}")
