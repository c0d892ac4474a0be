"""Dollies under an axle: the capacity of a set, by its rating and by its tyres.

Law: no tyre carries more than its sidewall says, except by special permit (49 CFR 393.75(g)).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from flows.errors import require_whole
from flows.figures.result import Check, Step, step, up

DOLLIES: Final = "dollies under the other axle"
DOLLY_TYRES: Final = "tyres of the dollies"
TAG_SOURCE: Final = "gear card"
SIDEWALL_SOURCE: Final = "sidewall on the gear card, 49 CFR 393.75(g)"


@dataclass(frozen=True, slots=True)
class DollyTyres:
    """The tyres of one set of dollies, and the weight of the set itself.

    Attributes
    ----------
    count : int
        Tyres of the whole set, 2 to 8.
    each_lb : int
        Greatest load on the sidewall of each, 200 to 8,000.
    own_lb : int
        Weight of the set itself, 20 to 3,000.
    """

    count: int
    each_lb: int
    own_lb: int

    def __post_init__(self) -> None:
        require_whole("dolly tyres count", self.count, 2, 8, "tyres")
        require_whole("dolly tyres each_lb", self.each_lb, 200, 8_000, "lb")
        require_whole("dolly tyres own_lb", self.own_lb, 20, 3_000, "lb")

    @property
    def carry_lb(self) -> int:
        """Most they carry together besides the set itself, no less than 0 [lb].

        ``count x each - own``, assuming an even load on all of them, as a rating does.

        Examples
        --------
        Four tyres of 1,075 lb under a set of 340: 4,300 - 340.

        >>> DollyTyres(4, 1075, 340).carry_lb
        3960
        """
        return max(self.count * self.each_lb - self.own_lb, 0)


@dataclass(frozen=True, slots=True)
class Dollies:
    """One set of dollies under an axle.

    Attributes
    ----------
    rating_lb : int
        Most an axle may weigh by its tag, 0 to 30,000; 0 for a set that is overdue or missing.
    tyres : DollyTyres or None
        None if nobody wrote their load down: then the rating alone counts.
    speed_mph : int or None
        Speed up to which the rating is valid, 5 to 75; reported with the figure, not used in it.
    """

    rating_lb: int
    tyres: DollyTyres | None = None
    speed_mph: int | None = None

    def __post_init__(self) -> None:
        require_whole("dolly rating", self.rating_lb, 0, 30_000, "lb")
        if self.speed_mph is not None:
            require_whole("dolly speed", self.speed_mph, 5, 75, "mph")

    @property
    def carry_lb(self) -> int:
        """Most an axle on it may weigh: the lower of its rating and its tyres' capacity [lb].

        Examples
        --------
        By a rating of 4,600 lb; by tyres that carry 3,960.

        >>> Dollies(4600).carry_lb, Dollies(4600, DollyTyres(4, 1075, 340)).carry_lb
        (4600, 3960)
        """
        return min(one.bound for one in self.checks(Fraction(0)))

    def checks(self, axle: Fraction) -> Iterator[Check]:
        """Yield the checks of an axle on it: the rating, and the tyres if known.

        Parameters
        ----------
        axle : Fraction
            Highest weight of the axle [lb].

        Examples
        --------
        >>> set_of_four = Dollies(4600, DollyTyres(4, 1075, 340))
        >>> [one.left for one in set_of_four.checks(Fraction(4000))]
        [600, -40]
        """
        yield Check(DOLLIES, up(axle), self.rating_lb, "lb", TAG_SOURCE)
        if self.tyres is not None:
            yield Check(DOLLY_TYRES, up(axle), self.tyres.carry_lb, "lb", SIDEWALL_SOURCE)

    def steps(self) -> Iterator[Step]:
        """Yield the capacity of its tyres; nothing if they are not known."""
        if self.tyres is not None:
            put_in = {
                "tyres_count": self.tyres.count,
                "each_lb": self.tyres.each_lb,
                "own_lb": self.tyres.own_lb,
            }
            carry = Fraction(self.tyres.carry_lb)
            yield step("dolly_tyres", put_in, carry, "lb", SIDEWALL_SOURCE)
