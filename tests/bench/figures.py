"""The figures for the bench: one full answer, and 10,000 random loads against plain floats."""

from collections.abc import Callable
from fractions import Fraction
from itertools import product
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from bot.commands.bootstrap import read_cards
from flows.figures.class_over import class_over
from flows.figures.deck import Load, Truck
from flows.figures.limits import Asked
from flows.figures.margin import Margin, decide_any, margin, to_record
from flows.figures.narrowing import Known, narrowing
from flows.figures.verdict import judged
from flows.figures.weight import PlanningWeight, planning
from flows.figures.working import working
from flows.job.facts import Fact
from flows.job.state import Job
from flows.reckoning.margin_inputs import legal_of, margin_of
from flows.routine.book import Book
from flows.routine.carry import CARRY
from tests.flows.balance import Case, random_cases

TRUCK = Truck(5400, 8900, 19500, 7500, 13500, 199, 88, 234)
UNSURE = Known(("suv_midsize",), None, None)

Floats = npt.NDArray[np.float64]
Work: TypeAlias = Callable[[], int]


def decided_from_cards(verdict: str) -> Work:
    """Return what decides every pair of demo cards with this verdict, from facts to the answer.

    Nothing of it is remembered from before but the class table, which is read once.
    """
    book = Book(CARRY, read_cards(None))
    library = book.library
    carriers = [one.id for one in library.trucks.values() if one.deck is not None]
    pairs = [_pair(book, *ids) for ids in product(carriers, library.vehicles)]
    jobs = [job for job in pairs if margin_of(job).verdict == verdict]

    def decide_each() -> int:
        decide_any.cache_clear()
        legal_of.cache_clear()
        return len([margin_of(Job(1, book, facts=job.facts)) for job in jobs])

    return decide_each


def _pair(book: Book, truck: str, vehicle: str) -> Job:
    card = book.library.vehicles[vehicle]
    known = {"truck": truck, "card": vehicle, "facing": "nose", "powertrain": card.powertrain,
             "drive": card.drive}  # fmt: skip
    return Job(1, book, facts={name: Fact(it, "typed", "", 0) for name, it in known.items() if it})


def exact_sums() -> Fraction:
    """Add 1,000 exact fractions, as a measure of how fast this machine is at it."""
    return sum((Fraction(one, 199) for one in range(1000)), Fraction(0))


def bare_margin() -> Margin:
    """The margin alone, nothing remembered from before."""
    decide_any.cache_clear()
    return _on_truck(UNSURE.plan())


def full_answer() -> None:
    """From a class to all that is said and shown of it, nothing remembered from before."""
    for remembered in (decide_any, planning, class_over):
        remembered.cache_clear()
    m = _on_truck(UNSURE.plan())
    to_record(m)
    working(m)
    narrowing(UNSURE, _on_truck)
    class_over(TRUCK, "suv_midsize")


def _on_truck(plan: PlanningWeight) -> Margin:
    return margin(TRUCK, plan.load(nose_first=True))


def plain_cases(count: int) -> list[Case]:
    """Random trucks with one vehicle on the deck and nothing else."""
    return random_cases(2 * count)[:count]


def exact_verdicts(cases: list[Case]) -> list[str]:
    """What the figure says of each."""
    return [judged(Asked(c.truck, c.load, c.lifted, c.legal), 95)[0] for c in cases]


def columns(cases: list[Case]) -> dict[str, Floats]:
    """The numbers of all cases as columns."""
    found = {name: [getattr(c.truck, name) for c in cases] for name in Truck.__slots__[:8]}
    found |= {f"load_{n}": [getattr(c.load, n) for c in cases] for n in Load.__slots__[:9]}
    return {name: np.array(values, dtype=np.float64) for name, values in found.items()}


def float_verdicts(of: dict[str, Floats]) -> npt.NDArray[np.str_]:
    """The same question in plain floats, all at once: no exact edges, no working, no names."""
    first, last = _span(of, 0.95, ("likely_lb", "high_lb"), ("share_low_pm", "share_high_pm"))
    go = np.ceil(first) <= np.floor(last)
    first, last = _span(of, 1.0, ("likely_lb",), ("share_mid_pm",))
    return np.where(go, "go", np.where(first <= last, "close", "no-go"))


def _span(
    of: dict[str, Floats], part: float, weights: tuple[str, ...], shares: tuple[str, ...]
) -> tuple[Floats, Floats]:
    base, nose = of["wheelbase_in"], of["load_nose_first"] > 0
    near = np.where(nose, of["load_front_overhang_in"], of["load_rear_overhang_in"])
    first = np.zeros_like(base)
    last = of["deck_length_in"] - near - of["load_wheelbase_in"]
    empty = of["empty_front_lb"] + of["empty_rear_lb"]
    kept = np.floor(of["empty_front_lb"] * 0.5)
    front_bound = part * np.minimum(of["gawr_front_lb"], 20_000)
    rear_bound = part * np.minimum(of["gawr_rear_lb"], 20_000)
    for weight in (of[f"load_{one}"] for one in weights):
        last = np.where(empty + weight > part * of["gvwr_lb"], -1, last)
        for share in (of[f"load_{one}"] / 1000 for one in shares):
            far = np.where(nose, 1 - share, share)
            at = of["headboard_in"] + near + of["load_wheelbase_in"] * far
            front = of["empty_front_lb"] + weight * (1 - at / base)
            rear = of["empty_rear_lb"] + weight * at / base
            inches = base / weight
            first = np.maximum(first, (front - front_bound) * inches)
            off = of["empty_front_lb"] - front
            last = np.minimum(last, (part * kept - off) * inches)
            last = np.minimum(last, (rear_bound - rear) * inches)
    return first, last
