"""Errors of the core: each names the problem, the value, the allowed values and the next step."""

from dataclasses import dataclass
from typing import Final


class FlowError(Exception):
    """Base of every error the core raises on purpose."""


@dataclass(frozen=True, slots=True)
class CardProblem:
    """A problem in one field of a card.

    Attributes
    ----------
    field : str
        Path of the field, ``"ticket.front_lb"``; empty for the whole file.
    value : str
        The value found, as text; ``"missing"`` if there was none.
    allowed : str
        The values it may have.
    """

    field: str
    value: str
    allowed: str


class CardError(FlowError):
    """A card that cannot be used; no part of it is.

    Parameters
    ----------
    file : str
        Name of the card's file, as the caller gave it.
    problems : tuple of CardProblem
        At least one.
    """

    LINE: Final = "{file}: {field} is {value}; allowed: {allowed}."
    NEXT: Final = "Correct the file and load it again."

    def __init__(self, file: str, problems: tuple[CardProblem, ...]) -> None:
        self.file = file
        self.problems = problems
        self.lines = tuple(
            self.LINE.format(
                file=file, field=p.field or "the file", value=p.value, allowed=p.allowed
            )
            for p in problems
        )
        super().__init__("\n".join([*self.lines, self.NEXT]))


class OutOfRangeError(FlowError, ValueError):
    """A quantity outside the valid range of a figure.

    Parameters
    ----------
    what : str
        Name of the quantity.
    value : object
        The value given.
    allowed : str
        The valid range, with its unit.
    """

    TEXT: Final = "{what} is {value}; allowed: {allowed}. Measure it again or correct the card."

    def __init__(self, what: str, value: object, allowed: str) -> None:
        self.what = what
        self.value = value
        self.allowed = allowed
        super().__init__(self.TEXT.format(what=what, value=value, allowed=allowed))


def require_whole(what: str, value: int, low: int, high: int, unit: str) -> None:
    """Refuse anything but a whole number from `low` to `high`.

    Parameters
    ----------
    what : str
        Name of the quantity, for the message.
    value : int
        The number, in `unit`.
    low, high : int
        Ends of the valid range, both included.
    unit : str
        Unit, for the message.

    Raises
    ------
    OutOfRangeError
        If `value` is not an ``int`` or is outside the range.

    Examples
    --------
    >>> require_whole("wheelbase", 20, 60, 260, "in")
    Traceback (most recent call last):
    ...
    flows.errors.OutOfRangeError: wheelbase is 20; allowed: whole in, 60 to 260. Measure it \
again or correct the card.
    """
    if type(value) is not int or not low <= value <= high:
        raise OutOfRangeError(what, value, f"whole {unit}, {low} to {high}")
