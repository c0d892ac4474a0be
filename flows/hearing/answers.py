"""The answers that a question expects: their kinds, choices and words, and how each is read.

An answer is plain data: it yields the buttons, the words a recogniser should expect, and the
phrases that count only while the question is open.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cache, cached_property, lru_cache
from typing import TYPE_CHECKING, Literal

from typing_extensions import override

from flows.cards.chosen import chosen_card
from flows.figures.classes import Size, families, size_label, sizes
from flows.job.acts import ACTS
from flows.job.facts import CARDS_OFFERED, CHOICES, FACTS
from flows.job.intents import (
    Chosen,
    Did as DidAct,
    Give,
    Intent,
    Measured,
    Nothing,
    Settled,
    Undid,
    When,
    Word,
)
from flows.measures.tokens import tokens
from flows.routine.items import Figure, Gate, HandOff, Item, Photo, Question, Step, Wait
from flows.texts import alarm_words, phrases, sentences, word

if TYPE_CHECKING:
    from flows.cards.library import Library
    from flows.cards.vehicle import VehicleCard
    from flows.job.state import Job, Pending
    from flows.routine.book import Book

AnswerKind = Literal[
    "choice", "yes_no", "done", "state", "quantity", "time", "note", "photo", "place", "nothing"
]
Risk = Literal["none", "echo", "explicit"]
Phrase = tuple[str, ...]

READ_BACKS = (
    "read_back", "read_back_unusual", "read_back_scaled", "read_back_range", "read_back_over",
)  # fmt: skip
READ_BACK_OF = {"pull_ft": "read_back_feet", "load_lb": "read_back_load"}
"""How a deciding number that is no weight is read back, by its fact."""
SLOPES = {"uphill": "read_back_uphill", "downhill": "read_back_downhill"}
"""How a slope is read back that was said in other words than those of the question."""
YES_OR_NO = frozenset(
    {*READ_BACKS, *READ_BACK_OF.values(), *SLOPES.values(), "still", "name", "heard"}
)
SKIP_REASONS = ("not_possible", "no_gear", "service_present", "in_tow_zone")
UNSEEN = ("dark", "covered", "traffic", "no_camera")
"""Why a set of photos cannot be taken."""
ALARMS: Mapping[str, tuple[str, str]] = {
    "alarm_smoke": ("danger", "none"),
    "alarm_people": ("hurt", "nobody"),
    "alarm_moving": ("moving", "holding"),
}
"""Questions whether there is an emergency, each with its two answers: there is, there is none."""
PROBLEMS = ("danger", "cannot", "lost", "dispatch", "hand_off")


@dataclass(frozen=True)
class Answer:
    """The answers that a question expects.

    Parameters
    ----------
    choices
        (id, label) of each button, at most five.
    words
        The words that settle a state.
    phrases
        The phrases that count only while this question is open, as (tokens, intent) pairs.
    acts
        What it settles: the words that belong to these explain others beside its own.
    asks_for
        The answers offered when it was not understood, where they are more than the choices.
    takes_note
        Any other words are the answer.
    takes_name
        They name who takes a decision: read back, and never words with another known meaning.
    takes_mass, takes_time, takes_feet
        A bare number is a weight here; a time, a distance in feet is expected here.
    risk
        How it is confirmed: not, by echo, or by a read-back.
    """

    kind: AnswerKind
    item: str = ""
    fact: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    words: tuple[str, ...] = ()
    phrases: tuple[tuple[Phrase, Intent], ...] = ()
    acts: tuple[str, ...] = ()
    asks_for: tuple[str, ...] = ()
    takes_note: bool = False
    takes_name: bool = False
    takes_mass: bool = False
    takes_time: bool = False
    takes_feet: bool = False
    critical: bool = False
    risk: Risk = "echo"
    usual: tuple[int, int] | None = None
    by_phrase: dict[Phrase, Intent] = field(init=False, compare=False, hash=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_phrase", dict(self.phrases))

    @cached_property
    def _hash(self) -> int:
        return hash((self.kind, self.item, self.fact, self.choices, self.words, self.phrases))

    @override
    def __hash__(self) -> int:
        """Return a hash worked out once: every reading looks up the same words."""
        return self._hash


NOTHING = Answer("nothing")
USUAL_LB = (1500, 12_000)
ALLOWED_LB = (500, 20_000)
WORDS_TOLD = 8
"""How many words a question names as its answers; many more are understood."""


def answer_for(job: "Job", item: Item) -> Answer:
    """Return the answers that an item expects of this job."""
    return _answer(job.book, item, _narrowed(job, item))


def _narrowed(job: "Job", item: Item) -> tuple[str, ...]:
    """Return the choices left where the known facts narrow them.

    Only so many cards are offered; any other card is understood by its name all the same.
    """
    match item:
        case Question(fact="card"):
            powertrain, family = job.sure("powertrain"), job.sure("family")
            fitting = job.book.library.fitting(powertrain, family)
            return tuple(card.id for card in fitting[:CARDS_OFFERED])
        case Question(fact="donor"):
            return tuple(donors(chosen_card(job)))
        case Question(fact="weight_class"):
            return tuple(size.class_id for size in _sizes(job.value("family")))
        case _:
            return ()


def pending_answer(job: "Job", pending: "Pending") -> Answer:
    """Return the answers that the exchange in hand expects."""
    if pending.kind == "again":
        return answer_for(job, job.book.routine.items[pending.item])
    if pending.kind == "name":
        return _name_read_back(pending.fact)
    return _pending_answer(pending.kind)


@lru_cache(maxsize=1024)
def _answer(book: "Book", item: Item, among: tuple[str, ...]) -> Answer:
    match item:
        case Question():
            return _question(book.library, item, among)
        case Photo():
            return _photo(item)
        case Step():
            return _step(item)
        case Gate():
            return _gate(item)
        case HandOff():
            return Answer("note", item=item.id, takes_note=True, takes_name=True,
                          critical=item.critical, risk="explicit")  # fmt: skip
        case Figure():
            return NOTHING
        case _:
            raise TypeError(f"no answer kind for {item!r}")


@cache
def _pending_answer(kind: str) -> Answer:
    match kind:
        case _ if kind in YES_OR_NO:
            return Answer("yes_no", choices=_labelled(("yes", "no"), "words"),
                          phrases=tuple(_yes_no("")), risk="explicit")  # fmt: skip
        case _ if kind in ALARMS:
            return Answer("choice", choices=_labelled(ALARMS[kind], "options"),
                          phrases=tuple(_of_alarm(kind)), critical=True)  # fmt: skip
        case "skip":
            return Answer("choice", choices=_labelled(SKIP_REASONS, "options"),
                          phrases=tuple(_chosen(SKIP_REASONS)), takes_note=True)  # fmt: skip
        case "unseen":
            return Answer("choice", choices=_labelled(UNSEEN, "options"),
                          phrases=tuple(_chosen(UNSEEN)), takes_note=True)  # fmt: skip
        case "problem":
            return Answer("choice", choices=_labelled(PROBLEMS, "options"),
                          phrases=tuple(_chosen(PROBLEMS)))  # fmt: skip
        case "number":
            return Answer("quantity", takes_mass=True, fact="weight", usual=USUAL_LB,
                          risk="explicit")  # fmt: skip
        case _:
            raise ValueError(f"no exchange of kind {kind!r}")


@cache
def _name_read_back(fact: str) -> Answer:
    """Return the answers to a name read back: yes, no, or another name."""
    return replace(_pending_answer("name"), fact=fact, takes_name=True)


def _labelled(ids: tuple[str, ...], table: str) -> tuple[tuple[str, str], ...]:
    return tuple((one, sentences()[table][one]) for one in ids)


def _chosen(ids: tuple[str, ...]) -> Iterator[tuple[Phrase, Intent]]:
    for one in ids:
        yield tokens(sentences()["options"][one]), Chosen(one)


def _of_alarm(kind: str) -> Iterator[tuple[Phrase, Intent]]:
    table = alarm_words()["kinds"][kind.removeprefix("alarm_")]
    for option, said in zip(ALARMS[kind], (table["yes"], table["no"]), strict=True):
        yield from ((tokens(one), Chosen(option)) for one in said)


def _yes_no(fact: str) -> Iterator[tuple[Phrase, Intent]]:
    for value in ("yes", "no"):
        for phrase in phrases()["universal"][value]:
            yield tokens(phrase), Give(fact, value) if fact else Chosen(value)


def _question(library: "Library", item: Question, among: tuple[str, ...]) -> Answer:
    match FACTS[item.fact].kind:
        case "note":
            return _note(item)
        case "minutes":
            return Answer("time", item=item.id, fact=item.fact, choices=(("now", word("now")),),
                          phrases=tuple(_also(item.id)), asks_for=(word("now_or_ago"),),
                          takes_time=True)  # fmt: skip
        case "pounds":
            return _load(item)
        case "feet":
            return Answer("quantity", item=item.id, fact=item.fact, takes_feet=True,
                          asks_for=(word("feet_or_not_sure"),), risk="explicit")  # fmt: skip
        case _:
            return _choice(library, item, among)


def _note(item: Question) -> Answer:
    spec = FACTS[item.fact]
    offered = ("nobody_came",) if item.fact == "released_by" else ()
    return Answer(
        "note",
        item=item.id,
        fact=item.fact,
        choices=tuple((one, word(one)) for one in offered),
        phrases=tuple(_unsure(item.id)),
        takes_note=True,
        takes_name=spec.is_name,
        critical=item.critical,
        risk="explicit" if spec.is_name else "echo",
    )


def _load(item: Question) -> Answer:
    empty = phrases()["talk"]["empty_of_load"]
    found = tuple((tokens(one), Measured(item.fact, 0)) for one in empty)
    return Answer("quantity", item=item.id, fact=item.fact, phrases=found, takes_mass=True,
                  asks_for=(word("pounds_or_nothing"),), risk="explicit")  # fmt: skip


def _choice(library: "Library", item: Question, among: tuple[str, ...]) -> Answer:
    is_yes_no = FACTS[item.fact].kind == "yes_no"
    values = tuple(_values(library, item.fact, among))
    found = [*_local(item.fact, values), *_labels(item.fact, values)]
    partly = phrases()["partly"].get(item.fact, ())
    found.extend((tokens(one), Nothing("rest")) for one in partly)
    if item.fact == "family":
        found.extend(_sizes_without_kind())
    if is_yes_no:
        found.extend(_yes_no(item.fact))
    return Answer(
        "yes_no" if is_yes_no else "choice",
        item=item.id,
        fact=item.fact,
        choices=values,
        phrases=tuple(found),
        takes_mass=item.fact in {"family", "weight_class"},
        critical=item.critical,
    )


def _unsure(item: str) -> Iterator[tuple[Phrase, Intent]]:
    """Yield the phrases for "not sure" of a question whose answer is free words."""
    said = phrases()["questions_unsure"].get(item, ())
    yield from ((tokens(one), Word("not_sure")) for one in said)


def _also(item: str) -> Iterator[tuple[Phrase, Intent]]:
    yield from ((tokens(one), When(0)) for one in phrases()["questions_now"].get(item, ()))
    for act, said in phrases()["questions_also"].get(item, {}).items():
        yield from ((tokens(one), DidAct(act)) for one in said)


def _values(library: "Library", fact: str, among: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Yield the choices of a fact; cards, trucks and sizes come from the library and table."""
    known = phrases()["facts"][fact].get("values", {})
    match fact:
        case "card":
            yield from ((one, library.vehicles[one].name) for one in among)
            yield "none", known["none"]["label"]
        case "truck" | "second_truck":
            yield from _trucks(library, fact)
        case "family":
            yield from ((one.id, one.label) for one in families())
        case "weight_class":
            yield from ((one, size_label(one)) for one in among)
        case _:
            yield from ((value, known[value]["label"]) for value in among or FACTS[fact].values)


def _trucks(library: "Library", fact: str) -> Iterator[tuple[str, str]]:
    """Yield the trucks offered; of a larger fleet the rest is understood by name."""
    if fact == "truck":
        yield from ((card.id, card.name) for card in library.carriers[:CHOICES])
    else:
        yield from ((card.id, card.name) for card in library.wreckers[: CHOICES - 1])
        yield "none", phrases()["facts"][fact]["values"]["none"]["label"]


def donors(card: "VehicleCard | None") -> Iterator[str]:
    """Yield the donors of a boost, by the card: an electric vehicle only where it says so."""
    boost = None if card is None else card.boost
    if boost is None or "pack" in boost.by:
        yield "pack"
    if boost is None or "donor" in boost.by:
        yield "combustion"
    if boost is not None and boost.electric_donor:
        yield "electric"


def _sizes(family: str | None) -> tuple[Size, ...]:
    """Return the sizes of a family; of none known, nothing."""
    return sizes(family) if family in {one.id for one in families()} else ()


def _local(fact: str, values: tuple[tuple[str, str], ...]) -> Iterator[tuple[Phrase, Intent]]:
    """Yield the words of each value; sizes of another kind share theirs and are not meant."""
    known = phrases()["facts"][fact].get("values", {})
    meant = [value for value, _ in values] if fact == "weight_class" else known
    for value in meant:
        for phrase in known.get(value, {"local": ()})["local"]:
            yield tokens(phrase), Give(fact, value)


def _sizes_without_kind() -> Iterator[tuple[Phrase, Intent]]:
    """Yield the words for sizes: a size of a single class tells the kind, others need it first."""
    found: dict[Phrase, list[str]] = {}
    for class_id, said in phrases()["facts"]["weight_class"]["values"].items():
        for phrase in said["local"]:
            found.setdefault(tokens(phrase), []).append(class_id)
    for phrase, classes in found.items():
        alone = len(classes) == 1
        yield phrase, Give("weight_class", classes[0]) if alone else Nothing("kind_first")


def _labels(fact: str, values: tuple[tuple[str, str], ...]) -> Iterator[tuple[Phrase, Intent]]:
    for value, label in values:
        yield tokens(label), Give(fact, value)


_TIMED = {
    ("neutral_selected",): "neutral_with_time",
    ("danger_released",): "released_with_time",
}


def _step(item: Step) -> Answer:
    said = tuple(phrases()["steps"][item.id])
    label = sentences()["items"][item.id].get("word", said[0])
    others = (one[0] for one in phrases()["steps_also"].get(item.id, {}).values())
    # Somebody driving is asked nothing; their words about the step count all the same.
    waits = isinstance(item, Wait)
    asks: AnswerKind = "nothing" if waits else "state" if item.critical else "done"
    return Answer(
        asks,
        item=item.id,
        acts=item.acts,
        choices=() if waits else tuple((one, one) for one in (label, *others)),
        words=said[:WORDS_TOLD],
        phrases=tuple(_step_phrases(item.id)),
        asks_for=(word(_TIMED[item.acts]),) if item.acts in _TIMED else (),
        critical=item.critical,
        takes_time=item.acts in _TIMED,
    )


def _step_phrases(item: str) -> Iterator[tuple[Phrase, Intent]]:
    """Yield the phrases that count while a step is open: done, another act, a fact, or neither."""
    table = phrases()
    yield from ((tokens(one), Settled(item)) for one in table["steps"][item])
    for act, said in table["steps_also"].get(item, {}).items():
        yield from ((tokens(one), _meant(act)) for one in said)
    # About the truck's own chocks: no answer by itself, and never about the vehicle's.
    yield from ((tokens(one), Nothing("unclear")) for one in table["steps_not"].get(item, ()))
    for fact, values in table["steps_facts"].get(item, {}).items():
        for value, said in values.items():
            yield from ((tokens(one), Give(fact, value)) for one in said)


def _photo(item: Photo) -> Answer:
    """Return the answers to a set of photos: photos, that it is done, or why it cannot be."""
    said = tuple(phrases()["steps"][item.id])
    found: list[tuple[Phrase, Intent]] = [(tokens(one), Settled(item.id)) for one in said]
    for one in UNSEEN:
        label = sentences()["options"][one]
        found.append((tokens(label), Word("cannot", label)))
    found.append((tokens(word("cannot")), Word("cannot")))
    return Answer(
        "photo",
        item=item.id,
        choices=(("done", word("done")), ("cannot", word("cannot"))),
        words=said[:WORDS_TOLD],
        phrases=tuple(found),
    )


def _meant(act: str) -> Intent:
    """Return the other meaning of an answer to a step: a disconnect found open was not closed."""
    opposite = ACTS[act].opposite
    found_open = act.startswith("isolation_opened_") and opposite is not None
    return Undid(opposite) if found_open and opposite is not None else DidAct(act)


def _gate(item: Gate) -> Answer:
    if item.acts:
        said = tuple(phrases()["steps"][item.id])
        found: tuple[tuple[Phrase, Intent], ...] = tuple(
            (tokens(one), Settled(item.id)) for one in said
        )
        return Answer("state", item=item.id, acts=item.acts, choices=(("go", "go"),), words=said,
                      phrases=found, critical=True)  # fmt: skip
    if not item.options:
        return Answer("nothing", item=item.id, critical=True)
    ids = tuple(option.id for option in item.options)
    return Answer(
        "choice",
        item=item.id,
        choices=_labelled(ids, "options"),
        phrases=tuple(_chosen(ids)),
        critical=True,
    )
