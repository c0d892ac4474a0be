"""How things are called in sentences: facts and their values, acts, settled items, reasons."""

from flows.figures.classes import class_ids, families, sizes
from flows.job.facts import FACTS
from flows.job.state import LOOK, Job
from flows.measures.say import say_ft_in, say_mass_lb
from flows.texts import phrases, sentences, word

REASONS = {
    "scene.uphill": "uphill",
    "margin.no_go": "margin",
    "margin.no_go_tied": "margin",
    "margin.no_go_aboard": "margin",
    "margin.close": "margin",
    "margin.close_tied": "margin",
    "destination.refused": "not_taken",
    "cord.hand_off": "cord_stays",
    "plan.weak": "weak",
    "plan.weak_tied": "weak",
    "plan.long": "long",
    "plan.long_tied": "long",
    "attach.will_not_roll": "will_not_roll",
    "attach.turn": "turn",
    "turn.no_truck": "turn",
    "turn.no_way_out": "boxed",
    "turn.unreached": "boxed",
    "turn.no_go": "lift_no_go",
    "attach.no_point": "no_point",
    "neutral.no_way": "no_way",
    "skate.too_weak": "lift_no_go",
    "access.no_way": "shut",
    "power.wrong_donor": "no_boost",
    "power.no_way": "no_way",
    "danger.stand_down": "nobody_came",
    "drop.uphill": "uphill",
    "drop.no_hold": "no_hold",
    "drop.no_way": "no_way",
}


def reason_of(item: str) -> str:
    """Return why an item hands the job off."""
    return REASONS.get(item, "wanted")


def last_label(item: str) -> str:
    """Return how a settled item is called: "chocked"."""
    known = sentences()["items"].get(item)
    return str(known["done"]) if known else word("nothing")


def fact_label(job: Job, name: str, value: object) -> str:
    """Return how a fact's value is called, with the company's own names, to be heard or read."""
    if name in NUMBERS:
        return _number_label(name, value)
    text = value_label(job, name, value)
    return f"{fact_name(name)} {text}" if name in _NAMED else text


def value_label(job: Job, name: str, value: object) -> str:
    """Return a fact's value as it is written beside its question: numbers in figures."""
    library = job.book.library
    if value == LOOK:
        return word("look_again")
    if name in NUMBERS:
        return _number_shown(name, value)
    match name:
        case "card" if value in library.vehicles:
            return library.vehicles[str(value)].name
        case "truck" | "second_truck" if value in library.trucks:
            return library.trucks[str(value)].name
        case "family" | "weight_class":
            return _class_label(str(value))
        case _:
            known = phrases()["facts"].get(name, {}).get("values", {})
            return str(known[value]["label"]) if value in known else str(value)


NUMBERS = {"weight": "in_lb", "load_lb": "in_lb", "pull_ft": "in_ft", "ceiling_in": "in_in"}
"""The facts that are numbers, with the words of their unit."""


def _number_shown(name: str, value: object) -> str:
    if isinstance(value, int):
        return word(NUMBERS[name]).format(number=f"{value:,}")
    return _number_label(name, value)


def _number_label(name: str, value: object) -> str:
    if value == FACTS[name].not_sure:
        return word("not_sure_pull_ft" if name == "pull_ft" else "not_sure_load_lb")
    if name == "pull_ft":
        return word("feet").format(ft=value)
    if name == "ceiling_in":
        return word("ceiling_said").format(height=say_ft_in(64 * int(str(value))))
    return say_mass_lb(int(str(value)))


def fact_name(name: str) -> str:
    """Return the name of a fact: "end at the truck"."""
    return str(phrases()["facts"][name]["name"])


_NAMED = frozenset(
    {"key", "drive", "cord", "ready", "facing", "wheels", "slope", "danger", "emergency"}
)


def _class_label(value: str) -> str:
    for family in families():
        if family.id == value:
            return family.label
        for size in sizes(family.id):
            if size.class_id == value:
                return size.label
    return word("not_sure") if value not in class_ids() else value


def act_label(act: str) -> str:
    """Return how an act is called: "line on"."""
    known = phrases()["acts"].get(act)
    return str(known["label"]) if known else act.replace("_", " ")
