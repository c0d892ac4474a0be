"""The worst that a sentence can be filled with: cards at their limits, the largest numbers.

A card's words are as many and as long as its model allows. A person's own words are
`FREE` letters long.
"""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import product
from types import MappingProxyType
from typing import Any

from flows.cards import parse
from flows.cards.library import Library
from flows.cards.truck import TruckCard
from flows.cards.vehicle import VehicleCard
from flows.figures.classes import families, sizes
from flows.hearing.answers import NOTHING, answer_for, pending_answer
from flows.hearing.prompts import Prompt, choice_slots
from flows.job.events import Moment
from flows.job.facts import FACTS, Fact
from flows.job.state import Conclusion, Ended, Job, Pending, Skip, Window
from flows.measures.say import digits, plain_minutes
from flows.routine.book import Book
from flows.routine.carry import CARRY
from flows.routine.items import Item
from flows.telling.labels import REASONS, act_label, fact_label, last_label
from flows.telling.reply import Priority, Reply
from flows.texts import phrases, sentences
from flows.texts.plainness import words
from tests.flows.talker import demo_library

FREE = 40
CARDS = 6  # more than one question offers
TRUCKS = 7
PHONE = 12
REF = 9999
POUNDS = 26_000
INCHES = 300
HOLD_MIN = 239  # a card allows 240: no more is said in more words than three hours fifty nine
NOW = Moment(1_780_000_000_000, 10**12, "boot-1")


def text_of(count: int, characters: int) -> str:
    """Return a card's text of so many words and characters."""
    letters, longer = divmod(characters - count + 1, count)
    return " ".join("a" * (letters + (place < longer)) for place in range(count))


def longest(texts: list[str]) -> str:
    """Return the text that takes longest to say, then to read."""
    return max(texts, key=lambda text: (len(words(text)), len(text)))


def _vehicle(number: int) -> VehicleCard:
    harrow = demo_library().vehicles["harrow"].model_dump()
    short, device = text_of(3, 24), text_of(2, 20)
    point = {"point": short, "device": device, "material": text_of(2, 16)}
    release = {"name": short, "travel_words": text_of(8, 48)}
    way = {
        "way": f"hold {text_of(11, 59)}",
        "confirmation": text_of(6, 48),
        "hold_min": HOLD_MIN,
    }
    isolation = {"name": short, "held_open_with": device, "cover": short, "wait_min": 59}
    limits: dict[str, Any] = {
        "id": f"vehicle_{number}",
        "name": text_of(2, 16),
        "keep_off": [short.replace("a", "b")] * 8,  # no place is both
        "holds": {"nose": [point], "tail": [point]},
        "isolations": [{"id": one, **isolation} for one in ("loop_1", "loop_2")],
        "cord_release": harrow["cord_release"] | release | {"requires": ["loop_1", "loop_2"]},
        "neutral": [harrow["neutral"][0] | way],
    }
    return parse(VehicleCard, f"vehicles/vehicle_{number}.toml", harrow | limits)


def _truck(number: int) -> TruckCard:
    return (
        demo_library()
        .trucks["heron"]
        .model_copy(update={"id": f"truck_{number}", "name": text_of(3, 24)})
    )


@cache
def library() -> Library:
    """Return cards at their limits, more of each than one question offers."""
    vehicles = [_vehicle(number) for number in range(CARDS)]
    trucks = [_truck(number) for number in range(TRUCKS)]
    return replace(
        demo_library(),
        company=demo_library().company.model_copy(
            update={"dispatch_phone": " ".join(["seven"] * PHONE)}
        ),
        vehicles=MappingProxyType({card.id: card for card in vehicles}),
        trucks=MappingProxyType({card.id: card for card in trucks}),
    )


def margin(verdict: str, governing: str, *, fits: bool = True) -> dict[str, Any]:
    """Return the record of a margin with the largest numbers."""
    limit = {"load_lb": POUNDS, "limit_lb": POUNDS}
    rows = [{"name": name, **limit} for name in ("front axle", "rear axle", "gross weight")]
    return {
        "verdict": verdict,
        "governing": governing if fits else "deck length",
        "governing_margin_lb": (POUNDS if verdict != "no-go" else -POUNDS) if fits else None,
        "limits": rows if fits else [],
        "position_lo_in": INCHES if verdict == "go" else None,
        "position_hi_in": INCHES if verdict == "go" else None,
        "governing_margin_in": None if fits else -INCHES,
        "best_in": INCHES if fits else None,
        "deck_short_in": 0 if fits else INCHES,
        "inputs": {"vehicle_likely_lb": POUNDS, "vehicle_high_lb": POUNDS},
    }


MARGINS = [
    *(margin(*of) for of in product(("go", "close", "no-go"), ("front axle", "gross weight"))),
    margin("no-go", "", fits=False),
]
_GIVEN = {
    "card": "vehicle_0", "truck": "truck_0", "facing": "nose", "slope": "level",
    "released_by": "a" * FREE, "place": "a" * FREE, "weight": 20_000,
}  # fmt: skip


@cache
def job(place: int = 0) -> Job:
    """Return a job in which everything is known, at its longest, with one of the margins."""
    items = list(CARRY.items)
    return Job(
        REF,
        Book(CARRY, library()),
        facts={name: Fact(value, "typed", "p1", 1) for name, value in _GIVEN.items()},
        margin=Conclusion(1, (), MARGINS[place]),
        window=Window(1, NOW.mono_ns - 1, NOW.boot, HOLD_MIN),
        pending=Pending("read_back", "weight", POUNDS),
        skips=(Skip("scene.warn", ""), Skip("scene.people", "")),
        last=next(item for item in items if last_label(item) == longest(done_labels())),
        now=replace(NOW, mono_ns=NOW.mono_ns - 1),
    )


def done_labels() -> list[str]:
    return [last_label(item) for item in CARRY.items]


@cache
def fact_labels(book: Book) -> list[str]:
    """Return the longest label of each fact that can be echoed."""
    of = Job(REF, book)
    values = {
        "card": list(book.library.vehicles),
        "truck": list(book.library.trucks),
        "weight": [str(POUNDS)],
        "family": [family.id for family in families()],
        "weight_class": [size.class_id for family in families() for size in sizes(family.id)],
    }
    # Danger that was seen is never echoed: it opens the danger gate.
    values["danger"] = ["none"]
    named = {name: values.get(name, list(spec.values)) for name, spec in FACTS.items()}
    return [
        longest([fact_label(of, name, value) for value in all_of])
        for name, all_of in named.items()
        if all_of
    ]


@cache
def given(book: Book) -> dict[str, str]:
    """Return the worst words that code gives a sentence, apart from those of the job."""
    labels = sorted(
        [*fact_labels(book), *map(act_label, phrases()["acts"])],
        key=lambda label: (len(words(label)), len(label)),
    )
    section = longest(list(sentences()["sections"].values()))
    states = [one["word"] for one in sentences()["items"].values() if "word" in one]
    return {
        "noted": ", ".join(labels[-4:]),
        "noted_all": ", ".join(labels[-4:]),
        "word": longest([*states, "released, with the time"]),
        "truck_height": "23 ft 11 in",
        "ceiling": "19 ft 11 in",
        "left": digits(REF),
        "left_shown": str(REF),
        "line": digits(POUNDS),
        "rating": digits(POUNDS),
        "places": ", ".join([text_of(3, 24)] * 3),
        "readings_shown": " or ".join([f"{POUNDS:,} lb"] * 3),
        "next_done": longest(done_labels()),
        "section_name": section,
        "next_section": section,
        "position": "nine",
        "total": "nine",
        "length": "99,999",
        "sheet_shown": "Job 1",
        "photo": "twenty nine",
        "photo_shown": "29",
        "wanted": "twenty nine",
        "wanted_shown": "29",
        "open_jobs": ", ".join([str(REF)] * 5),
        "rule": "S16",
        "since": "twenty three fifty nine",
        "since_shown": "23:59",
        "gone": plain_minutes(HOLD_MIN),
        "gone_shown": f"{HOLD_MIN} min",
        "last_value": "a" * FREE,
        "words": "a " * 7 + "a",
    }


def prompts(of: Job, item: Item | None = None) -> Iterator[Prompt]:
    """Yield all that can be open at an item, or anywhere, with the answers it expects."""
    kinds = ("read_back", "problem", "skip", "number")
    if item is None:
        yield NO_PROMPT
        yield from (Prompt(None, pending_answer(of, Pending(kind)), kind) for kind in kinds)
    asked = CARRY.items.values() if item is None else (item,)
    for one, family in product(asked, ("any", *(family.id for family in families()))):
        facts = {**of.facts, "family": Fact(family, "typed", "p1", 1)}
        yield Prompt(one, answer_for(replace(of, facts=facts), one))


NO_PROMPT = Prompt(None, NOTHING)


def item_replies(of: Job, item: Item) -> Iterator[Reply]:
    """Yield every message that asks for an item, in each of its variants."""
    starts = str(sentences()["items"][item.id]["spoken"]).startswith("Stop.")
    priority: Priority = "stop" if starts else "reply"
    for prompt, variant in product(prompts(of, item), ("spoken", "look")):
        slots = given(of.book) | choice_slots(prompt)
        yield Reply("driver", f"items.{item.id}", of, priority, slots, item.id, 1,
                    prompt.answer, variant)  # fmt: skip


def says_replies(of: Job, key: str) -> Iterator[Reply]:
    """Yield a sentence, with all that can be open where it lists the choices or says why."""
    texts = sentences()["says"][key]
    slots = given(of.book)
    if key in {"retracted", "news_done", "news_undone"}:
        slots = slots | {"noted": longest([*done_labels(), *map(act_label, phrases()["acts"])])}
    lists = key == "why" or "choices" in texts["shown"]
    for prompt in prompts(of) if lists else (NO_PROMPT,):
        item = "" if prompt.item is None else prompt.item.id
        filled = slots | choice_slots(prompt)
        yield Reply("driver", f"says.{key}", of, texts["priority"], filled, item, 1, prompt.answer)


def replies() -> Iterator[Reply]:
    """Yield every message there is, filled with the worst."""
    for place, item in product(range(len(MARGINS)), CARRY.items.values()):
        if item.id.startswith(("margin.", "neutral.deck")) or place == 0:
            yield from item_replies(job(place), item)
    for key in sentences()["says"]:
        for reason in sorted(set(REASONS.values())):
            of = replace(job(len(MARGINS) - 2), ended=Ended("handed_off", reason))
            yield from says_replies(of, key)
