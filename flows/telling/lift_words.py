"""What a lift puts into a sentence: truck, ends, the axle on dollies, the figure."""

from collections.abc import Callable, Mapping

from flows.figures.dollies import DOLLIES, DOLLY_TYRES
from flows.figures.lifting import KEPT
from flows.figures.limits import LIFT
from flows.job.state import Job
from flows.measures.say import digits
from flows.telling.card_words import card_of
from flows.texts import word

_PARK = {"front": "park_front", "rear": "park_rear", "all": "park_all"}
_LIMITS = {KEPT: "lift_kept", DOLLIES: "lift_dollies", DOLLY_TYRES: "lift_dolly_tyres"}
_NOTES = {"fits_retracted": "lift_fits_retracted"}
_FAR = {"nose": "tail", "tail": "nose"}
_STAYS_DOWN = {"nose": "rear", "tail": "front"}


def _truck(job: Job) -> str:
    truck = job.book.library.trucks.get(job.value("second_truck") or "")
    return word("not_known") if truck is None else truck.name


def _end(job: Job, ends: Mapping[str, str], otherwise: str) -> str:
    return word(ends.get(job.value("facing") or "", otherwise))


def _near(job: Job) -> str:
    return _end(job, {"nose": "nose", "tail": "tail"}, "nose")


def _park(job: Job) -> str:
    """Say which axle Park holds, by the card."""
    card = card_of(job)
    holds = None if card is None else card.park_holds
    return word("park_unknown" if holds is None else _PARK[holds.axle])


def _lift(job: Job, name: str, default: object) -> object:
    return default if job.lift is None else job.lift.result.get(name, default)


def _left(job: Job) -> int:
    return abs(int(str(_lift(job, "left_lb", 0))))


def _name(limit: object) -> str:
    """Say a limit's name, and at which end of the lift's travel it holds where it is retracted."""
    name, _, end = str(limit or LIFT).partition(", ")
    said = word(_LIMITS.get(name, name.replace(" ", "_")))
    return f"{said.rstrip(',')}, {word(end)}," if end else said


def _limits(job: Job) -> str:
    rows = _lift(job, "limits", [])
    lines = [
        word("limit_line").format(
            name=_name(row["name"]), load=row["load_lb"], limit=row["limit_lb"]
        )
        for row in (rows if isinstance(rows, list) else [])
    ]
    return "\n".join(lines)


def _notes(job: Job) -> str:
    """Say what is told beside the figure, each on a line of its own."""
    notes = _lift(job, "notes", [])
    told = notes if isinstance(notes, list) else []
    return "".join(f"\n{word(_NOTES[one])}" for one in told)


OF_LIFT: Mapping[str, Callable[[Job], str]] = {
    "second_truck": _truck,
    "near_end": _near,
    "far_end": lambda job: _end(job, _FAR, "tail"),
    "dolly_axle": lambda job: _end(job, _STAYS_DOWN, "rear"),
    "park_shown": _park,
    "lift_word": lambda job: word(str(_lift(job, "word", "no-go"))),
    "lift_governing": lambda job: _name(_lift(job, "governing", "")),
    "lift_spoken": lambda job: digits(_left(job)),
    "lift_shown": lambda job: str(_left(job)),
    "lift_left": lambda job: word("over" if int(str(_lift(job, "left_lb", 0))) < 0 else "left"),
    "lift_limits": _limits,
    "lift_notes": _notes,
}
"""What fills a placeholder, by its name."""
