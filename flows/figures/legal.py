"""Legal limits of axles, gross weight and size: federal, a state's, and the recovery exemption.

The maker's ratings apply as well; an exemption from a law does not lift any of them.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import ceil
from typing import Final

from flows.errors import OutOfRangeError, require_whole
from flows.figures.result import Amount, Result, step

FEDERAL_SOURCE: Final = "23 USC 127(a)(2)"
EXEMPTION: Final = "23 USC 127(m)"

_FEW_FEET_LB: Final = 34_000
_FEW_FEET_IN: Final = 96


@dataclass(frozen=True, slots=True)
class Legal:
    """The legal limits where the truck drives; by default the federal limits.

    Attributes
    ----------
    single_lb, tandem_lb, gross_lb : int
        On a single axle, on a tandem, and of the whole combination, 10,000 to 200,000.
    bridge : bool
        Whether the bridge formula applies.
    height_in, length_in : int or None
        Of truck and load, 60 to 240 and 200 to 1,500; None if not configured: not checked.
    recovery : bool
        True if a disabled vehicle goes from where it became disabled to the nearest appropriate
        repair facility. Then the weight limits of this class do not apply, if the truck is heavy
        enough (`recovery_exempt`). Height and length still do.
    source : str
        The law, for the record.
    sources : tuple of (str, str)
        Limits with another source: the name of the field above, and its law.
    """

    single_lb: int = 20_000
    tandem_lb: int = 34_000
    gross_lb: int = 80_000
    bridge: bool = True
    height_in: int | None = None
    length_in: int | None = None
    recovery: bool = False
    source: str = FEDERAL_SOURCE
    sources: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        for name in ("single_lb", "tandem_lb", "gross_lb"):
            require_whole(f"legal {name}", getattr(self, name), 10_000, 200_000, "lb")
        for name, low, high in (("height_in", 60, 240), ("length_in", 200, 1_500)):
            if getattr(self, name) is not None:
                require_whole(f"legal {name}", getattr(self, name), low, high, "in")

    def source_of(self, name: str) -> str:
        """Return the law that a limit comes from.

        Examples
        --------
        >>> there = Legal(height_in=162, sources=(("height_in", "a state's law"),))
        >>> there.source_of("height_in"), there.source_of("gross_lb")
        ("a state's law", '23 USC 127(a)(2)')
        """
        return dict(self.sources).get(name, self.source)


FEDERAL: Final = Legal()


@lru_cache(maxsize=256)
def bridge_limit(axles: int, length_in: int) -> int:
    """Return the most a group of axles may carry by the bridge formula.

    ``W = 500 (L N / (N - 1) + 12 N + 36)`` to the nearest 500 lb, an exact half down, as in the
    published tables. Up to 8 feet, 2 or 3 axles are a tandem: 34,000 lb.

    Parameters
    ----------
    axles : int
        N, consecutive axles of the group, 2 to 9.
    length_in : int
        L, first to last axle of the group, inches, 24 to 1,200; with 4 or more axles at least 4
        feet apart. Counted in whole feet, rounded down, as the table's row "more than 8 feet".

    Returns
    -------
    int
        Pounds.

    Raises
    ------
    OutOfRangeError
        If an argument is not a whole number or is out of range.

    Notes
    -----
    Source: 23 USC 127(a)(2); rounding from RCW 46.44.041. That table's four cells of short
    spacings (4 axles 11 ft and the like) follow no rounding rule and are out of range here.

    Examples
    --------
    3 axles over 9 feet: 42,750, printed 42,500.

    >>> bridge_limit(3, 9 * 12), bridge_limit(2, 10 * 12), bridge_limit(2, 8 * 12)
    (42500, 40000, 34000)
    """
    require_whole("axles of a group", axles, 2, 9, "axles")
    shortest = 24 if axles <= 3 else 48 * (axles - 1)
    require_whole("length of a group of axles", length_in, shortest, 1_200, "in")
    if length_in <= _FEW_FEET_IN:
        return _FEW_FEET_LB
    feet = length_in // 12
    raw = 500 * (Fraction(feet * axles, axles - 1) + 12 * axles + 36)
    return ceil(raw / 500 - Fraction(1, 2)) * 500


def bridge(axles: int, length_in: int) -> Result:
    """Return what a group of axles may carry by the bridge formula, with its working.

    Parameters
    ----------
    axles, length_in : int
        As in `bridge_limit`.

    Raises
    ------
    OutOfRangeError
        As `bridge_limit`.

    Examples
    --------
    >>> bridge(2, 96).amount("limit"), bridge(2, 102).amount("limit")
    (34000, 38000)
    """
    pounds, feet = bridge_limit(axles, length_in), length_in // 12
    put_in: dict[str, int | Fraction] = {"length_ft": feet, "axles_count": axles}
    formula = "few_feet" if length_in <= _FEW_FEET_IN else "formula"
    return Result(
        "bridge",
        (("axles", axles), ("length_in", length_in)),
        (Amount("limit", pounds, "lb"),),
        (),
        (step(formula, put_in, Fraction(pounds), "lb", FEDERAL_SOURCE),),
        f"{FEDERAL_SOURCE}, rounded as in RCW 46.44.041",
    )


def recovery_exempt(legal: Legal, truck_lb: int, disabled_lb: int) -> bool:
    """Tell whether the recovery exemption lifts the legal weight limits.

    Parameters
    ----------
    legal : Legal
        With `recovery` set by the caller.
    truck_lb : int
        Weight of the truck; its own weight without the vehicles is the cautious choice.
    disabled_lb : int
        Weight of the disabled vehicles, the high one.

    Notes
    -----
    Source: 23 USC 127(m): to the nearest appropriate repair facility, and the truck's gross
    weight equals or exceeds that of the disabled vehicle.

    Examples
    --------
    >>> to_the_shop = Legal(recovery=True)
    >>> recovery_exempt(to_the_shop, 33_000, 6_000), recovery_exempt(FEDERAL, 33_000, 6_000)
    (True, False)
    >>> recovery_exempt(to_the_shop, 6_000, 6_000), recovery_exempt(to_the_shop, 5_999, 6_000)
    (True, False)
    """
    for what, value in (("truck weight", truck_lb), ("disabled weight", disabled_lb)):
        if value < 0:
            raise OutOfRangeError(what, value, "0 lb or more")
    return legal.recovery and truck_lb >= disabled_lb
