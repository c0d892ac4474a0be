"""Dollies under an axle: what a set carries, by its rating and by the tyres that it rolls on.

Law: no tyre carries more than its sidewall says, but by special permit (49 CFR 393.75(g)).
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
    """The tyres of one set of dollies, and what they carry of it before anything is on it.

    Attributes
    ----------
    count : int
        Of the whole set, 2 to 8.
    each_lb : int
        The greatest load on the sidewall of one, 200 to 8,000.
    own_lb : int
        What the set itself weighs, 20 to 3,000.
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
        """What they carry together beside the set itself, no less than 0 [lb].

        ``count x each - own``: that the load lies evenly on them is assumed, as a rating does.

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
        What its tag lets an axle weigh, 0 to 30,000; 0 for a set that is overdue or missing.
    tyres : DollyTyres or None
        None where nobody wrote down what they carry: then the rating alone counts.
    speed_mph : int or None
        Up to which its tag holds, 5 to 75; told with the figure and not reckoned.
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
        """What an axle on it may weigh: the lower of its rating and what its tyres carry [lb].

        Examples
        --------
        By a rating of 4,600 lb; by tyres that carry 3,960.

        >>> Dollies(4600).carry_lb, Dollies(4600, DollyTyres(4, 1075, 340)).carry_lb
        (4600, 3960)
        """
        return min(one.bound for one in self.checks(Fraction(0)))

    def checks(self, axle: Fraction) -> Iterator[Check]:
        """Yield what an axle on it is held against: its rating, and its tyres where known.

        Parameters
        ----------
        axle : Fraction
            What the axle weighs at most [lb].

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
        """Yield how much its tyres carry; nothing where they are not known."""
        if self.tyres is not None:
            put_in = {
                "tyres_count": self.tyres.count,
                "each_lb": self.tyres.each_lb,
                "own_lb": self.tyres.own_lb,
            }
            carry = Fraction(self.tyres.carry_lb)
            yield step("dolly_tyres", put_in, carry, "lb", SIDEWALL_SOURCE)
