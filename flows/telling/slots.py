"""The words that figures and a number read back put into a sentence, by placeholder.

The margin, the planned pull, a lift, the loaded height, and the number that waits for its yes.
`saying` holds the table of all placeholders; those of a card are in `card_words`.
"""

from collections.abc import Callable, Mapping
from typing import Any

from flows.cards.chosen import chosen_card
from flows.figures.dollies import DOLLIES, DOLLY_TYRES
from flows.figures.lifting import KEPT
from flows.figures.limits import LIFT
from flows.figures.pages import margin_lines
from flows.job.ends import OTHER_END, lifted_end
from flows.job.state import Job, Pending
from flows.measures.say import digits, say_ft_in, say_mass_lb, say_written_mass
from flows.reckoning.margin_inputs import margin_named
from flows.telling.card_words import minutes
from flows.texts import figure_texts, phrases, word

Slot = Callable[[Job], str]


def underscored(name: object) -> str:
    """Return a figure's name as the key of its word: "deck length" is `deck_length`."""
    return str(name).replace(" ", "_")


def _limit_lines(rows: object, name: Callable[[str], str]) -> str:
    """Return a line for each limit: its name, the load, the limit."""
    return "\n".join(
        word("limit_line").format(
            name=name(row["name"]), load=row["load_lb"], limit=row["limit_lb"]
        )
        for row in (rows if isinstance(rows, list) else [])
    )


# The margin


def _margin(job: Job) -> Mapping[str, object]:
    return job.margin.result if job.margin is not None else {}


def _governing(job: Job) -> str:
    return word(underscored(_margin(job).get("governing", "deck length")))


def _spare(job: Job) -> int:
    """Return the rest of the governing limit, in pounds, or in inches where a length governs."""
    value = _margin(job).get("governing_margin_lb")
    return value if isinstance(value, int) else int(str(_margin(job)["governing_margin_in"]))


def _spare_unit(job: Job, *, spoken: bool) -> str:
    is_length = _margin(job).get("governing_margin_lb") is None
    return word(_SPARE_UNITS[is_length, spoken])


_SPARE_UNITS = {
    (True, True): "inches_spoken",
    (True, False): "inches_shown",
    (False, True): "pounds_spoken",
    (False, False): "pounds_shown",
}
"""The word for the unit of what is left, by whether it is a length and whether it is spoken."""


_POSITION_SPOKEN = {
    "position": {0: "position_touching_spoken", 1: "position_one_spoken"},
    "figure": {0: "figure_touching_spoken", 1: "figure_one_spoken"},
}
_POSITION_SHOWN = {"position": "position_drawn", "figure": "figure_drawn"}


def _has_position(job: Job) -> bool:
    result = _margin(job)
    return result.get("best_in") is not None and result.get("verdict") != "no-go"


def _position(job: Job, table: str, none: str) -> str:
    """Return where it goes on the deck, shown; a close margin has no range of positions."""
    if not _has_position(job):
        return word(none)
    result = _margin(job)
    low, high = result["position_lo_in"], result["position_hi_in"]
    key = f"{table}_shown" if low is not None else _POSITION_SHOWN[table]
    return word(key).format(lo=low, hi=high, best=result["best_in"])


def _position_spoken(job: Job, table: str, none: str) -> str:
    """Return the best position on the deck in words."""
    if not _has_position(job):
        return word(none)
    best = int(str(_margin(job)["best_in"]))
    return word(_POSITION_SPOKEN[table].get(best, f"{table}_spoken")).format(best=digits(best))


def _close_helps(job: Job) -> str:
    """Return the way to settle a close margin: a scale weight only where the figure says so."""
    remedies = _margin(job).get("remedies")
    if isinstance(remedies, list) and "weigh_it" in remedies:
        return word("helps_weigh")
    narrowing = _margin(job).get("narrowing")
    if isinstance(narrowing, list) and narrowing:
        return word("helps_fact").format(fact=word(f"narrow_{underscored(narrowing[0]['fact'])}"))
    return word("helps_other")


MOST_SPOKEN = 2
"""How many remedies are said aloud; the rest are shown."""


def _helps(job: Job, most: int | None = None) -> str:
    """Return the remedies that may improve the margin, the easiest first."""
    found = _margin(job).get("remedies")
    named = figure_texts()["page"]["remedies_named"]
    return ", ".join(named[one] for one in (found if isinstance(found, list) else [])[:most])


def _numbers(job: Job) -> str:
    """Return every limit of the margin with its source, and its inputs."""
    return "\n".join(margin_lines(*margin_named(job))) if job.margin_stands else word("none")


def _weight(job: Job, name: str) -> str:
    inputs = _margin(job).get("inputs", {})
    value = inputs.get(f"vehicle_{name}_lb") if isinstance(inputs, Mapping) else None
    return word("not_known") if value is None else str(value)


def _weight_spoken(job: Job) -> str:
    """Return the two weights of the margin, or one where they are the same."""
    if not job.margin_stands:
        return word("none")
    likely, high = (digits(int(_weight(job, name))) for name in ("likely", "high"))
    said = word("weight_one" if likely == high else "weight_two")
    told = said.format(likely=likely, high=high)
    return told[0].upper() + told[1:]


OF_MARGIN: Mapping[str, Slot] = {
    "verdict_word": lambda job: word(str(_margin(job).get("verdict", "no-go"))),
    "governing": _governing,
    "margin_spoken": lambda job: digits(abs(_spare(job))),
    "margin_shown": lambda job: str(abs(_spare(job))),
    "spare_unit_spoken": lambda job: _spare_unit(job, spoken=True),
    "spare_unit_shown": lambda job: _spare_unit(job, spoken=False),
    "left_or_over": lambda job: word("left" if _spare(job) >= 0 else "over"),
    "position_spoken": lambda job: _position_spoken(job, "position", "position_none"),
    "position_shown": lambda job: _position(job, "position", "position_none"),
    "figure_spoken": lambda job: _position_spoken(job, "figure", "figure_none_spoken"),
    "figure_shown": lambda job: _position(job, "figure", "figure_none_shown"),
    "limits_shown": lambda job: _limit_lines(
        _margin(job).get("limits"), lambda name: word(underscored(name))
    ),
    "likely": lambda job: _weight(job, "likely"),
    "high": lambda job: _weight(job, "high"),
    "weight_spoken": _weight_spoken,
    "close_helps": _close_helps,
    "numbers_shown": _numbers,
    "helps_spoken": lambda job: _helps(job, MOST_SPOKEN),
    "helps_shown": _helps,
}
"""The placeholders of the margin."""


# The planned pull


def _plan(job: Job) -> Mapping[str, Any]:
    return {} if job.pull is None else job.pull.result


def _pull_told(job: Job) -> str:
    """Return the sentence of a pull that fits, by whether its time and the hold are known."""
    plan = _plan(job)
    if plan.get("hold_min") is None:
        return word("pull_unpromised")
    if plan.get("minutes") is None:
        return word("pull_untimed")
    return word("pull_timed").format(
        needs=minutes(plan["minutes"]).capitalize(), usable=minutes(plan["usable_min"])
    )


def _pull_detail(job: Job) -> str:
    plan = _plan(job)
    ground = phrases()["facts"]["ground"]["values"][job.value("ground") or "hard"]["label"]
    return word("pull_detail").format(
        line=plan.get("line_lb", 0),
        rating=plan.get("rating_lb", 0),
        ground=ground,
        ft=plan.get("distance_ft", 0),
    )


def _planned(name: str, say: Callable[[int], str] = str) -> Slot:
    return lambda job: say(_plan(job).get(name) or 0)


OF_PULL: Mapping[str, Slot] = {
    "pull_told": _pull_told,
    "pull_detail": _pull_detail,
    "pull_line": _planned("line_lb"),
    "pull_rating": _planned("rating_lb"),
    "pull_needs": _planned("minutes", minutes),
    "pull_usable": _planned("usable_min", minutes),
    "pull_fits_ft": _planned("fits_ft"),
}
"""The placeholders of the planned pull."""


# A lift: truck, ends, the axle on dollies, the figure

_PARK = {"front": "park_front", "rear": "park_rear", "all": "park_all"}
_LIFT_LIMITS = {KEPT: "lift_kept", DOLLIES: "lift_dollies", DOLLY_TYRES: "lift_dolly_tyres"}
_LIFT_NOTES = {"fits_retracted": "lift_fits_retracted"}
_STAYS_DOWN = {"nose": "rear", "tail": "front"}


def _second_truck(job: Job) -> str:
    truck = job.book.library.trucks.get(job.value("second_truck") or "")
    return word("not_known") if truck is None else truck.name


def _end(job: Job, ends: Mapping[str, str], otherwise: str) -> str:
    end = lifted_end(job.value("facing"), job.value("lift_end"))
    return word(ends.get(end or "", otherwise))


def _missing(job: Job) -> str:
    """Say what it takes to get it out of a box that is not here."""
    return word("no_lift_wheel" if job.value("wheels") == "missing" else "no_second_truck")


def _park(job: Job) -> str:
    """Say which axle Park holds, by the card."""
    card = chosen_card(job)
    holds = None if card is None else card.park_holds
    return word("park_unknown" if holds is None else _PARK[holds.axle])


def _lift(job: Job, name: str, default: object) -> object:
    return default if job.lift is None else job.lift.result.get(name, default)


def _lift_left(job: Job) -> int:
    return int(str(_lift(job, "left_lb", 0)))


def _lift_limit(limit: object) -> str:
    """Return a limit's name, and the end of the lift's travel where its name has one."""
    name, _, end = str(limit or LIFT).partition(", ")
    said = word(_LIFT_LIMITS.get(name, underscored(name)))
    return f"{said.rstrip(',')}, {word(end)}," if end else said


def _lift_notes(job: Job) -> str:
    """Return the notes of the figure, each on a line of its own."""
    notes = _lift(job, "notes", [])
    told = notes if isinstance(notes, list) else []
    return "".join(f"\n{word(_LIFT_NOTES[one])}" for one in told)


OF_LIFT: Mapping[str, Slot] = {
    "second_truck": _second_truck,
    "near_end": lambda job: _end(job, {"nose": "nose", "tail": "tail"}, "nose"),
    "far_end": lambda job: _end(job, OTHER_END, "tail"),
    "dolly_axle": lambda job: _end(job, _STAYS_DOWN, "rear"),
    "park_shown": _park,
    "missing": _missing,
    "lift_word": lambda job: word(str(_lift(job, "word", "no-go"))),
    "lift_governing": lambda job: _lift_limit(_lift(job, "governing", "")),
    "lift_spoken": lambda job: digits(abs(_lift_left(job))),
    "lift_shown": lambda job: str(abs(_lift_left(job))),
    "lift_left": lambda job: word("over" if _lift_left(job) < 0 else "left"),
    "lift_limits": lambda job: _limit_lines(_lift(job, "limits", []), _lift_limit),
    "lift_notes": _lift_notes,
}
"""The placeholders of a lift."""


# The loaded height


def loaded_height_in(job: Job) -> int | None:
    """Return how high the vehicle reaches on the deck [in], or the truck where that is higher.

    None where card and truck do not both give their part.
    """
    library = job.book.library
    card = chosen_card(job)
    truck = library.trucks.get(job.value("truck") or "")
    if card is None or truck is None or truck.deck is None:
        return None
    return max(truck.deck.height_in + card.height_in, truck.height_in)


def _height_shown(job: Job) -> str:
    height = loaded_height_in(job)
    if height is None:
        return word("not_known")
    feet, inches = divmod(height, 12)
    return word("height_shown").format(feet=feet, inches=inches)


def _height_spoken(job: Job) -> str:
    height = loaded_height_in(job)
    return word("not_known") if height is None else say_ft_in(height * 64)


# A number that is read back: digit by digit, and a weight as it was said


def read_back_slots(pending: Pending) -> dict[str, str]:
    """Return the values of the placeholders in a sentence that reads a number back."""
    return {"value_spoken": _value_spoken(pending), "value_shown": _value_shown(pending)}


def _value_spoken(pending: Pending | None) -> str:
    if pending is None or not isinstance(pending.value, int):
        return word("none")
    if pending.kind == "read_back_feet":
        return digits(pending.value).capitalize()
    as_said = pending.said if pending.kind not in _NEVER_AS_SAID else ""
    return (say_written_mass(as_said) if as_said else say_mass_lb(pending.value)).capitalize()


_NEVER_AS_SAID = frozenset({"read_back_range", "read_back_load"})
"""Read-backs of a weight that say the number that counts, in whatever words it came."""


def _value_shown(pending: Pending | None) -> str:
    if pending is None or not isinstance(pending.value, int):
        return word("none")
    if pending.kind == "read_back_feet":
        return str(pending.value)
    if pending.kind == "read_back_load" or not pending.said:
        return f"{pending.value} lb"
    return word("said_shown").format(said=pending.said, lb=pending.value)


OF_NUMBERS: Mapping[str, Slot] = {
    "height_shown": _height_shown,
    "height_spoken": _height_spoken,
    "value_spoken": lambda job: _value_spoken(job.pending),
    "value_shown": lambda job: _value_shown(job.pending),
}
"""The placeholders of the loaded height and of a number read back."""
