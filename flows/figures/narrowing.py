"""Which single fact would narrow a margin most, and whether it would settle it.

Each open fact is tried with all its possible values; the widest range that may be left of the
governing limit's load counts. Everything is in a fixed order, so that the same question has the
same answer.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import product
from math import floor
from typing import Final, Literal, TypeAlias

from flows.figures.known_weights import (
    POWERTRAINS,
    STATED_PART,
    KnownWeight,
    Powertrain,
    from_stated,
)
from flows.figures.margin import Margin
from flows.figures.verdict import ORDER, Verdict
from flows.figures.weight import DRIVES, Drive, PlanningWeight, heaviest, planning

Fact: TypeAlias = Literal["class", "drive", "powertrain", "papers weight", "share", "scale ticket"]

# Quickest to find out first; the order decides between facts that narrow equally.
FACTS: Final[tuple[Fact, ...]] = (
    "class",
    "drive",
    "powertrain",
    "papers weight",
    "share",
    "scale ticket",
)


@dataclass(frozen=True, slots=True)
class Known:
    """The known facts of a vehicle's weight.

    Attributes
    ----------
    class_ids : tuple of str
        Remaining classes, at least one.
    powertrain, drive : str or None
        None if not sure.
    weight : KnownWeight or None
        A weight that somebody read.
    """

    class_ids: tuple[str, ...]
    powertrain: Powertrain | None = None
    drive: Drive | None = None
    weight: KnownWeight | None = None

    def plan(self) -> PlanningWeight:
        """Return the planning weight: the heaviest remaining class, then the weight read.

        Examples
        --------
        >>> Known(("suv_compact", "suv_midsize"), "electric", "all").plan().rows[0]
        'suv_midsize/battery_electric/all'
        """
        one = self.class_ids[0]
        if len(self.class_ids) > 1:
            one = heaviest(self.class_ids, self.powertrain, self.drive)
        plan = planning(one, self.powertrain, self.drive)
        return plan if self.weight is None else plan.weighing(self.weight)


@dataclass(frozen=True, slots=True)
class Narrowing:
    """The effect of knowing one fact.

    Attributes
    ----------
    fact : str
        One of `FACTS`.
    left_lb : int
        Widest range that may be left of the governing limit's load.
    verdicts : tuple of str
        Possible verdicts, go first; a single verdict settles it.
    """

    fact: Fact
    left_lb: int
    verdicts: tuple[Verdict, ...]


Answer: TypeAlias = Callable[[PlanningWeight], Margin]


def narrowing(known: Known, answer: Answer) -> tuple[Narrowing, ...]:
    """Return the effect of each open fact, the most narrowing first.

    Parameters
    ----------
    known : Known
        The facts so far.
    answer : callable
        The margin for a planning weight; the caller supplies the truck, the way round and a
        card's lengths.

    Returns
    -------
    tuple of Narrowing
        Empty if nothing is open, or if the wheels do not fit the deck at any weight.

    Examples
    --------
    >>> from flows.figures.margin import Truck, margin
    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> known = Known(("suv_compact",), "electric", None)
    >>> found = narrowing(known, lambda plan: margin(truck, plan.load(nose_first=True)))
    >>> [one.fact for one in found]
    ['scale ticket', 'share', 'papers weight', 'drive']
    """
    now = answer(known.plan())
    if now.best_in is None or now.governing_margin_lb is None:
        return ()
    found = [
        _narrowing(fact, [answer(one.plan()) for one in _tried(fact, known)], now.governing)
        for fact in FACTS
        if _is_open(fact, known)
    ]
    return tuple(sorted(found, key=lambda one: (one.left_lb, FACTS.index(one.fact))))


def _narrowing(fact: Fact, answers: list[Margin], governing: str) -> Narrowing:
    verdicts = {one.verdict for one in answers}
    return Narrowing(
        fact,
        max(_range(one, governing) for one in answers),
        tuple(word for word in ORDER if word in verdicts),
    )


def _range(m: Margin, name: str) -> int:
    """Pounds from the lowest to the highest load of a limit; 0 if the wheels do not fit."""
    return sum(one.load_lb - one.least_lb for one in m.limits if one.name == name)


def _is_open(fact: Fact, known: Known) -> bool:
    weight = known.weight
    is_share_known = weight is not None and weight.share_pm is not None
    is_scaled = weight is not None and not weight.is_stated
    return {
        "class": len(known.class_ids) > 1 and weight is None,
        "drive": known.drive is None and not is_share_known,
        "powertrain": known.powertrain is None and not (is_scaled and is_share_known),
        "papers weight": weight is None,
        "share": not is_share_known,
        "scale ticket": not (is_scaled and is_share_known),
    }[fact]


def _tried(fact: Fact, known: Known) -> Iterator[Known]:
    """Yield the known facts for each possible value of one more fact."""
    match fact:
        case "class":
            yield from (replace(known, class_ids=(one,)) for one in known.class_ids)
        case "drive":
            yield from (replace(known, drive=one) for one in DRIVES)
        case "powertrain":
            yield from (_as_powertrain(known, one) for one in POWERTRAINS)
        case _:
            yield from (replace(known, weight=one) for one in _weights(fact, known))


def _as_powertrain(known: Known, powertrain: Powertrain) -> Known:
    weight = known.weight and known.weight.stated_for(powertrain)
    return replace(known, powertrain=powertrain, weight=weight)


def _weights(fact: Fact, known: Known) -> Iterator[KnownWeight]:
    """Yield the weights that may be read: both ends of the range, with each end of the share."""
    plan = known.plan()
    shares = (plan.share_low_pm, plan.share_mid_pm, plan.share_high_pm)
    now = known.weight or KnownWeight(plan.likely_lb, plan.high_lb, None, plan.source)
    if fact == "share":
        yield from (replace(now, share_pm=(one, one, one)) for one in shares)
        return
    if fact == "papers weight":
        # With its allowance it reaches at most the present high weight.
        most = floor(plan.high_lb / STATED_PART[known.powertrain or "electric"])
        yield from (from_stated(one, known.powertrain) for one in (plan.likely_lb, most))
        return
    for weight, share in product((plan.likely_lb, plan.high_lb), shares):
        yield KnownWeight(weight, weight, (share, share, share), plan.source)
