"""From the facts of a job to the inputs of its figures, and the figure's record."""

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from flows.cards.chosen import chosen_card
from flows.cards.company import CompanyCard, StateLimits
from flows.cards.parts import Weights
from flows.cards.vehicle import VehicleCard
from flows.figures.class_over import table_over
from flows.figures.classes import family_of
from flows.figures.deck import Piece, Truck
from flows.figures.known_weights import SHARES_PM, How
from flows.figures.legal import FEDERAL, Legal
from flows.figures.limits import Asked
from flows.figures.margin import Margin, decide_any, to_record
from flows.figures.narrowing import Known, Narrowing, narrowing
from flows.figures.weight import (
    Drive,
    KnownWeight,
    PlanningWeight,
    Powertrain,
    class_ids,
    from_card,
    sizes,
)
from flows.job.events import Aboard
from flows.texts import word

if TYPE_CHECKING:
    from flows.job.state import Job


MOST_LOAD_LB = {"pickup": 2_000, "van": 2_000}
OTHER_LOAD_LB = 500
"""Ours: the most load to plan for by kind [lb], about as much as its tyres and springs carry."""
SPARE_LOADS = 2
"""Ours: with this many times the load to spare, no load has the leverage to change the word."""
PERSON_LB = 200
"""Ours: a person in the cab with their things [lb]."""
CAB_IN = 60
"""Ours: the cab's seats behind the front axle [in], where no ticket says."""
PASSENGERS = {"one": 1, "two": 2, "three": 3}
NO_DECK_IN = 1
MOST_PIECE_LB = 10_000


def margin_inputs_known(job: "Job") -> bool:
    """Say whether enough is known for a margin."""
    return job.value("truck") in job.book.library.trucks


def conclude_margin(job: "Job") -> dict[str, Any]:
    """Compute the margin of a job and return its record.

    It also has the part of the class table for which this truck is over [per mille], and for a
    close margin the effect of each open fact.
    """
    answer = margin_of(job)
    record = {
        **to_record(answer),
        "table_over_pm": table_over(answer.truck, answer.legal),
        "load_matters": _load_matters(job, answer),
    }
    if answer.verdict == "close":
        record["narrowing"] = [
            {"fact": one.fact, "left_lb": one.left_lb, "verdicts": list(one.verdicts)}
            for one in narrowed(job)
        ]
    return record


def _load_matters(job: "Job", answer: Margin) -> bool:
    """Say whether a load in it or on its bed, which nobody named, would change the word."""
    most = most_load_lb(job)
    spare = answer.governing_margin_lb
    is_open = job.value("load_lb") is None and job.value("weight_how") != "ticket"
    if not is_open or answer.verdict == "no-go" or spare is None or spare > SPARE_LOADS * most:
        return False
    return _margin(job, _holding(job, plan_of(job), most)).verdict != answer.verdict


def drawing_of(job: "Job") -> str:
    """Return the margin as a drawing, an SVG document; the same facts give the same bytes."""
    return _drawn(*margin_named(job))


def margin_named(job: "Job") -> tuple[Margin, str, str]:
    """Return the margin, and the names of truck and vehicle."""
    card = chosen_card(job)
    vehicle = word("vehicle") if card is None else card.name
    truck = job.book.library.trucks[job.value("truck")].name
    return margin_of(job), truck, vehicle


@lru_cache(maxsize=256)
def _drawn(answer: Margin, truck: str, vehicle: str) -> str:
    from flows.figures.drawings.margin_drawing import draw  # noqa: PLC0415  not before the first figure

    return draw(answer, truck, vehicle)


def margin_of(job: "Job") -> Margin:
    """Return the margin of a job, for both ends at the headboard where either may be.

    An assumed powertrain or drive counts as every row of the class table it could be.
    """
    return _margin(job, plan_of(job))


def narrowed(job: "Job") -> tuple[Narrowing, ...]:
    """Return the effect of each open fact on the margin, the strongest first."""
    return narrowing(known_of(job), lambda plan: _margin(job, _loaded(job, plan)))


def _margin(job: "Job", plan: PlanningWeight) -> Margin:
    library = job.book.library
    truck = _carrying(library.trucks[job.value("truck")].carrier(), job.aboard)
    truck = _with_passengers(truck, PASSENGERS.get(job.value("passengers") or "", 0))
    legal, pct = legal_of(library.company), library.company.close_at_pct
    card = chosen_card(job)
    height_in = None if card is None else card.height_in
    loads = (plan.load(nose_first=way, height_in=height_in) for way in ways_of(job))
    return decide_any(tuple(Asked(truck, load, None, legal) for load in loads), pct)


def ways_of(job: "Job") -> tuple[bool, ...]:
    """Return which ends may be toward the truck: the nose (true), the tail."""
    return {"nose": (True,), "tail": (False,)}.get(job.value("facing") or "", (True, False))


def _carrying(truck: Truck, aboard: tuple[Aboard, ...]) -> Truck:
    """Return the truck with other jobs' vehicles on it: their weight, and no deck left.

    One vehicle has the whole deck: no room for a second is the cautious assumption.
    """
    if not aboard:
        return truck
    pieces = (
        Piece(word("aboard_of_job").format(job=one.job), weight, one.at_in)
        for one in aboard
        for weight in _in_pieces(one.weight_lb)
    )
    return replace(truck, aboard=(*truck.aboard, *pieces), deck_length_in=NO_DECK_IN)


def _with_passengers(truck: Truck, number: int) -> Truck:
    """Return the truck with the passengers in the cab who were not on the scale."""
    if not number:
        return truck
    seats = next((one.at_in for one in truck.aboard if one.person), CAB_IN)
    people = Piece(word("passengers"), number * PERSON_LB, seats, person=True)
    return replace(truck, aboard=(*truck.aboard, people))


def _in_pieces(weight_lb: int) -> list[int]:
    """Return a weight in parts no heavier than a piece may be.

    Examples
    --------
    >>> _in_pieces(12_500)
    [10000, 2500]
    """
    full, rest = divmod(weight_lb, MOST_PIECE_LB)
    return [MOST_PIECE_LB] * full + ([rest] if rest else [])


@lru_cache(maxsize=16)
def legal_of(company: CompanyCard) -> Legal:
    """Return the legal limits: the strictest of federal law and every state on the card.

    The place of a job is free words, so the limits of every state the company drives in count.
    """
    limits = (FEDERAL, *company.limits)
    known, sources = {}, []
    for name in ("single_lb", "tandem_lb", "gross_lb", "height_in", "length_in"):
        said = [one for one in limits if getattr(one, name) is not None]
        if said:
            strictest = min(said, key=lambda one: getattr(one, name))
            known[name] = getattr(strictest, name)
            if isinstance(strictest, StateLimits):
                sources.append((name, f"company card, {strictest.state}"))
    return replace(FEDERAL, **known, sources=tuple(sources))


def plan_of(job: "Job") -> PlanningWeight:
    """Return the planning weight: from the card where it says, else from the class.

    A load in it or on its bed comes on top, except where its whole weight was scaled.
    """
    return _loaded(job, known_of(job).plan())


def _loaded(job: "Job", plan: PlanningWeight) -> PlanningWeight:
    plan, load = _with_card(job, plan), job.value("load_lb")
    if load is None or job.value("weight_how") == "ticket":
        return plan
    return _holding(job, plan, load if isinstance(load, int) else most_load_lb(job))


def _holding(job: "Job", plan: PlanningWeight, load_lb: int) -> PlanningWeight:
    """Add a load: on the bed of a pickup, or a possible pickup, else inside."""
    is_pickup = "pickup" in _families(job)
    loaded = plan.adding(bed_lb=load_lb) if is_pickup else plan.adding(contents_lb=load_lb)
    low, high = SHARES_PM
    shares = ("share_low_pm", "share_mid_pm", "share_high_pm")
    return replace(loaded, **{s: min(max(getattr(loaded, s), low), high) for s in shares})


def most_load_lb(job: "Job") -> int:
    """Return the most load in it or on its bed to plan for [lb], as long as nobody says."""
    return max(MOST_LOAD_LB.get(family, OTHER_LOAD_LB) for family in _families(job))


def _families(job: "Job") -> set[str]:
    """Return the kinds that it may be, by its class, its card or its family."""
    return {family_of(one) for one in _classes(job, chosen_card(job))}


def known_of(job: "Job") -> Known:
    """Return the known facts of the vehicle's weight, for the figures."""
    card = chosen_card(job)
    powertrain: Powertrain | None = job.sure("powertrain")
    drive: Drive | None = job.sure("drive")
    known = Known(_classes(job, card), powertrain, drive, _weight(job, card, powertrain))
    return known if card is None or card.weights is None else _with_split(known, card.weights)


def _with_split(known: Known, weights: Weights) -> Known:
    """Keep the share off the card's scale for another weight, if it leaves less than the class."""
    weight, axles = known.weight, weights.by_axle
    if weight is None or axles is None or weight.share_pm is not None:
        return known
    kept, plan = weight.split_as(*axles), known.plan()
    low, _, high = kept.share_pm or (0, 0, 1000)
    is_narrower = high - low < plan.share_high_pm - plan.share_low_pm
    return replace(known, weight=kept) if is_narrower else known


def _classes(job: "Job", card: VehicleCard | None) -> tuple[str, ...]:
    """Return the classes that are left: the chosen class, the card's, the family's, or all."""
    chosen = job.value("weight_class")
    if chosen in class_ids():
        return (str(chosen),)
    if card is not None and card.weight_class is not None:
        return (card.weight_class,)
    family = job.value("family")
    if family and family != "any":
        return tuple(size.class_id for size in sizes(family))
    return class_ids()


def _weight(
    job: "Job", card: VehicleCard | None, powertrain: Powertrain | None
) -> KnownWeight | None:
    """The driver's own number beats the card's; axle weights on the card give the share too.

    A stated weight that is the card's own, off its scale, is no other weight.
    """
    weights, said = None if card is None else card.weights, job.value("weight")
    axles = None if weights is None else weights.by_axle
    if axles is not None and said in {None, sum(axles)}:
        return from_card("ticket", powertrain, axles=axles)
    if said is not None:
        is_scaled = job.value("weight_how") == "ticket"
        how: How = "ticket" if is_scaled else "label"
        return from_card(how, powertrain, total_lb=said)
    return None if weights is None else from_card("label", powertrain, total_lb=weights.total_lb)


def _with_card(job: "Job", plan: PlanningWeight) -> PlanningWeight:
    """Take lengths and front share from the card, where it says them."""
    card = chosen_card(job)
    if card is None:
        return plan
    if card.split is not None:
        low_pct, high_pct = card.split.front_low_pct, card.split.front_high_pct
        plan = replace(
            plan,
            share_low_pm=10 * low_pct,
            share_mid_pm=5 * (low_pct + high_pct),
            share_high_pm=10 * high_pct,
        )
    return replace(
        plan,
        wheelbase_in=card.wheelbase_in,
        front_overhang_in=card.front_overhang_in,
        rear_overhang_in=card.rear_overhang_in,
    )
