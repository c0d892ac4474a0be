"""Weights that somebody read: on a scale, on a label or papers, on a card.

Rules and their accuracy: ``tables/SOURCES.md``.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, floor
from types import MappingProxyType
from typing import Final, Literal, TypeAlias

from flows.errors import OutOfRangeError, require_whole

Powertrain: TypeAlias = Literal["electric", "hybrid", "combustion"]
How: TypeAlias = Literal["ticket", "measured", "label"]

POWERTRAINS: Final[tuple[Powertrain, ...]] = ("electric", "hybrid", "combustion")
HOWS: Final[tuple[How, ...]] = ("ticket", "measured", "label")

TICKET_SOURCE: Final = "scale ticket, both axles"
MEASURED_SOURCE: Final = "scale, whole vehicle"
STATED_SOURCE: Final = "stated weight, with the allowance for its powertrain"

# A share that was not measured is widened by this much to each side.
SHARE_WIDENING_PM: Final = 20
SHARES_PM: Final = (100, 900)
"""The shares that the margin takes [per mille]; a load beyond them is far over."""
# Scale over paper: common practice for electric (10 to 15 % over), measured for combustion.
STATED_PART: Final[Mapping[Powertrain, Fraction]] = MappingProxyType(
    {
        "electric": Fraction(115, 100),
        "hybrid": Fraction(115, 100),
        "combustion": Fraction(106, 100),
    }
)


@dataclass(frozen=True, slots=True)
class KnownWeight:
    """A weight that somebody read: in lb, with the front share in per mille if it has one.

    Attributes
    ----------
    likely_lb, high_lb : int
        Equal for a scale.
    share_pm : tuple of int or None
        Low, middle and high; for a ticket they differ only by rounding.
    source : str
        Where it was read.
    is_stated : bool
        Whether `high_lb` includes an allowance for the powertrain.
    """

    likely_lb: int
    high_lb: int
    share_pm: tuple[int, int, int] | None
    source: str
    is_stated: bool = False

    def stated_for(self, powertrain: Powertrain | None) -> "KnownWeight":
        """Return it with another powertrain's allowance if it was stated, else unchanged."""
        if not self.is_stated:
            return self
        return _stated(self.likely_lb, powertrain, self.share_pm)

    def split_as(self, front_lb: int, rear_lb: int) -> "KnownWeight":
        """Return it with the share that a scale gave for the same vehicle at another time.

        2 points wider to each side, since it was not measured at this weight. What it weighs
        more than then lies anywhere between the two axles.

        Parameters
        ----------
        front_lb, rear_lb : int
            Axle weights then, 100 to 20,000 lb.

        Raises
        ------
        OutOfRangeError
            If a weight is not a whole number or is out of range.

        Examples
        --------
        2,410 of 4,960 lb are 485.9 per mille. Of 5,260 lb, 2,410 to 2,710 are in front: 458.2 to
        515.2 per mille.

        >>> from_stated(4600, "electric").split_as(2410, 2550).share_pm
        (465, 486, 506)
        >>> from_measured(5260).split_as(2410, 2550).share_pm
        (438, 486, 536)
        """
        total = front_lb + rear_lb
        _, mid, _ = from_ticket(front_lb, rear_lb).share_pm or (0, 0, 0)
        more = max(self.likely_lb - total, 0)
        low = floor(Fraction(1000 * front_lb, total + more)) - SHARE_WIDENING_PM
        high = ceil(Fraction(1000 * (front_lb + more), total + more)) + SHARE_WIDENING_PM
        least, most = SHARES_PM
        return replace(self, share_pm=(max(low, least), mid, min(high, most)))


def from_ticket(front_lb: int, rear_lb: int) -> KnownWeight:
    """Return the weight a scale ticket gives for both axles.

    Parameters
    ----------
    front_lb, rear_lb : int
        Axle weights, 100 to 20,000 lb.

    Returns
    -------
    KnownWeight
        The share is exact except for rounding to per mille: low down, high up.

    Raises
    ------
    OutOfRangeError
        If a weight is not a whole number or is out of range.

    Examples
    --------
    2,410 of 4,960 lb are 485.9 per mille:

    >>> from_ticket(2410, 2550).share_pm, from_ticket(2410, 2550).high_lb
    ((485, 486, 486), 4960)
    """
    require_whole("front axle weight", front_lb, 100, 20_000, "lb")
    require_whole("rear axle weight", rear_lb, 100, 20_000, "lb")
    total = front_lb + rear_lb
    return KnownWeight(total, total, _share(front_lb, total), TICKET_SOURCE)


def from_stated(total_lb: int, powertrain: Powertrain | None) -> KnownWeight:
    """Return the weight range for a figure from a label or papers.

    Parameters
    ----------
    total_lb : int
        Stated weight, 400 to 20,000 lb.
    powertrain : {"electric", "hybrid", "combustion"} or None
        Electric and hybrid may weigh 15 percent more than stated (common practice: usually 10
        to 15), combustion 6 percent (9 in 10 of those measured). None counts as electric.

    Raises
    ------
    OutOfRangeError
        If the weight is not a whole number or is out of range, or there is no such powertrain.

    Examples
    --------
    >>> from_stated(4600, "electric").high_lb, from_stated(4600, "combustion").high_lb
    (5290, 4876)
    """
    require_whole("stated weight", total_lb, 400, 20_000, "lb")
    return _stated(total_lb, powertrain, None)


def from_measured(total_lb: int) -> KnownWeight:
    """Return the weight of a vehicle that was scaled as a whole; its share remains unknown.

    Parameters
    ----------
    total_lb : int
        400 to 20,000 lb.

    Raises
    ------
    OutOfRangeError
        If the weight is not a whole number or is out of range.

    Examples
    --------
    >>> from_measured(4960)
    KnownWeight(likely_lb=4960, high_lb=4960, share_pm=None, source='scale, whole vehicle', \
is_stated=False)
    """
    require_whole("measured weight", total_lb, 400, 20_000, "lb")
    return KnownWeight(total_lb, total_lb, None, MEASURED_SOURCE)


def from_label(front_lb: int, rear_lb: int, powertrain: Powertrain | None) -> KnownWeight:
    """Return the weight range for axle weights from a label or papers.

    The total has the allowance of `from_stated`. The share is as stated, 2 points wider to each
    side: stated shares are in whole percent and carried over between drives, which moves them 1
    to 2 points (``SOURCES.md``).

    Parameters
    ----------
    front_lb, rear_lb : int
        Stated axle weights, 100 to 20,000 lb.
    powertrain : {"electric", "hybrid", "combustion"} or None
        As in `from_stated`.

    Raises
    ------
    OutOfRangeError
        If a weight is not a whole number or is out of range, or there is no such powertrain.

    Examples
    --------
    >>> from_label(2300, 2300, "electric").high_lb, from_label(2300, 2300, "electric").share_pm
    (5290, (480, 500, 520))
    """
    require_whole("front axle weight", front_lb, 100, 20_000, "lb")
    require_whole("rear axle weight", rear_lb, 100, 20_000, "lb")
    low, mid, high = _share(front_lb, front_lb + rear_lb)
    wider = (low - SHARE_WIDENING_PM, mid, high + SHARE_WIDENING_PM)
    return _stated(front_lb + rear_lb, powertrain, wider)


def from_card(
    how: How,
    powertrain: Powertrain | None,
    *,
    axles: tuple[int, int] | None = None,
    total_lb: int | None = None,
) -> KnownWeight:
    """Return the weight range for the weights on a vehicle card.

    Parameters
    ----------
    how : {"ticket", "measured", "label"}
        A scale is exact; a label has the allowance of its powertrain.
    powertrain : {"electric", "hybrid", "combustion"} or None
        As in `from_stated`.
    axles : tuple of int or None
        Front and rear axle weight, lb.
    total_lb : int or None
        The whole vehicle, if the card has no axle weights.

    Raises
    ------
    OutOfRangeError
        If both are missing, or there is no such `how`; and as in the function for each.

    Examples
    --------
    >>> from_card("measured", "electric", total_lb=4960).high_lb
    4960
    >>> from_card("label", "electric", axles=(2300, 2300)).high_lb
    5290
    """
    require_word("how", how, HOWS)
    if axles is not None:
        return from_label(*axles, powertrain) if how == "label" else from_ticket(*axles)
    if total_lb is None:
        raise OutOfRangeError("card weight", "missing", "both axle weights or the total")
    return from_stated(total_lb, powertrain) if how == "label" else from_measured(total_lb)


def _share(front_lb: int, total_lb: int) -> tuple[int, int, int]:
    """Front share in per mille: rounded down, to the nearest, up."""
    share = Fraction(1000 * front_lb, total_lb)
    return floor(share), floor(share + Fraction(1, 2)), ceil(share)


def _stated(
    total_lb: int, powertrain: Powertrain | None, share_pm: tuple[int, int, int] | None
) -> KnownWeight:
    require_word("powertrain", powertrain or "electric", POWERTRAINS)
    high = ceil(STATED_PART[powertrain or "electric"] * total_lb)
    return KnownWeight(total_lb, high, share_pm, STATED_SOURCE, is_stated=True)


def require_word(what: str, value: str, allowed: tuple[str, ...]) -> None:
    """Refuse a word that is not allowed."""
    if value not in allowed:
        raise OutOfRangeError(what, value, ", ".join(allowed))
