"""The result of a figure: its answer, its checks against bounds, and each step of the working.

Whole numbers in a declared unit, rounded to the cautious side; the steps are exact. No figure of
pull, rigging or tie-downs decides a go by itself: it is shown to the person who decides.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor
from typing import Final, TypeAlias

DEFINITION: Final = "definition"
# A hundred-millionth: the possible error of a sine or a root in binary, so that a whole number is
# not rounded away from itself.
_HAIR: Final = Fraction(1, 10**8)

Put: TypeAlias = tuple[str, Fraction]


@dataclass(frozen=True, slots=True)
class Step:
    """One formula, worked.

    Attributes
    ----------
    formula : str
        Its name, a key for the words: ``"gravity"``, ``"rear_of_deck"``.
    put_in : tuple of (str, Fraction)
        The inputs, by name; the name ends in the unit, ``_lb``, ``_in``, ``_ft``, ``_kg``,
        ``_pm``, ``_pct``, ``_deg``, ``_x`` (a plain factor), ``_count`` or ``_index``.
    result : Fraction
        Exact.
    unit : str
        Unit of the result: ``"lb"``, ``"in"``, ``"pct"``, ``"x"``, ``"count"`` and the like.
    source : str
        Where the formula or the bound comes from.
    """

    formula: str
    put_in: tuple[Put, ...]
    result: Fraction
    unit: str
    source: str


def step(
    formula: str, put_in: Mapping[str, int | Fraction], result: Fraction, unit: str, source: str
) -> Step:
    """Return a step with all its inputs as fractions."""
    pairs = tuple((name, Fraction(value)) for name, value in put_in.items())
    return Step(formula, pairs, result, unit, source)


def used_step(load: Fraction, bound: Fraction, unit: str, source: str) -> Step:
    """Return the step for the part of a bound that is used, in percent."""
    put_in = {f"load_{unit}": load, f"limit_{unit}": bound}
    return step("used", put_in, 100 * load / bound, "pct", source)


@dataclass(frozen=True, slots=True)
class Amount:
    """One number of an answer.

    Attributes
    ----------
    name : str
        Its name, a key for the words.
    value : int
        In `unit`, rounded to the cautious side.
    unit : str
        ``"lb"``, ``"in"``, ``"ft"``, ``"min"``, ``"pct"`` or ``"count"``.
    """

    name: str
    value: int
    unit: str


@dataclass(frozen=True, slots=True)
class Check:
    """A load checked against a bound.

    Attributes
    ----------
    name : str
        The part that bears it, a key for the words or the name of a piece of gear.
    used, bound : int
        In `unit`: used rounded up, the bound down.
    unit, source : str
        ``"lb"`` and the like; where the bound comes from.
    """

    name: str
    used: int
    bound: int
    unit: str
    source: str

    @property
    def left(self) -> int:
        """The rest of the bound; negative if it is exceeded."""
        return self.bound - self.used


@dataclass(frozen=True, slots=True)
class Result:
    """A figure's answer with everything it was computed from.

    Attributes
    ----------
    figure : str
        Its name, a key for the words.
    inputs : tuple of (str, int or str)
        The inputs; a number's name ends in its unit.
    amounts : tuple of Amount
        The answer first.
    checks : tuple of Check
        The loads checked against their bounds; may be empty.
    steps : tuple of Step
        The working, in order.
    source : str
        The models and tables by name.
    notes : tuple of str
        Remarks that go with the answer without changing it, keys for the words.
    """

    figure: str
    inputs: tuple[tuple[str, int | str], ...]
    amounts: tuple[Amount, ...]
    checks: tuple[Check, ...]
    steps: tuple[Step, ...]
    source: str
    notes: tuple[str, ...] = ()

    @property
    def is_over(self) -> bool:
        """Whether some bound is exceeded."""
        return any(one.left < 0 for one in self.checks)

    @property
    def governing(self) -> Check | None:
        """The check of which the largest part is used; None if there are no checks."""
        return max(
            self.checks, key=lambda one: Fraction(one.used, max(one.bound, 1)), default=None
        )

    @property
    def may_decide(self) -> bool:
        """Whether the figure decides a go by itself: never."""
        return False

    def amount(self, name: str) -> int:
        """Return one of the numbers of the answer.

        Raises
        ------
        KeyError
            If no number has that name.
        """
        return {one.name: one.value for one in self.amounts}[name]


def _used_part(check: Check) -> Fraction:
    return Fraction(check.used, max(check.bound, 1))


def up(value: Fraction) -> int:
    """Round a load up, except for the tiny error of a sine.

    Examples
    --------
    >>> up(Fraction(1000) + Fraction(1, 10**12)), up(Fraction("1000.01"))
    (1000, 1001)
    """
    return ceil(value - _HAIR)


def down(value: Fraction) -> int:
    """Round a bound down, except for the same error.

    Examples
    --------
    >>> down(Fraction(1000) - Fraction(1, 10**12)), down(Fraction("999.99"))
    (1000, 999)
    """
    return floor(value + _HAIR)
