"""The sheet: everything still ahead for this vehicle and truck, for where there is no signal.

It is found by going on from the present job: each open item is taken as done in the plain way,
over the same facts, acts and conditions that the routine asks by. Where an answer leads another
way, that way follows under it, as far as it differs. Nothing of it is recorded.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from flows.cards.chosen import chosen_card
from flows.hearing.answers import answer_for
from flows.job.events import Heard, Moment, Person
from flows.job.facts import FACTS
from flows.job.state import Job
from flows.reckoning.lifts import conclude_lift
from flows.reckoning.margin_inputs import conclude_margin, margin_inputs_known
from flows.reckoning.planning import conclude_pull
from flows.routine.items import (
    Figure,
    Gate,
    HandOff,
    Item,
    LiftPlan,
    PullPlan,
    Question,
    Step,
    WindowStep,
)
from flows.telling.saying import fill
from flows.texts import sentences
from flows.turn import effects
from flows.turn.turning import Turning

PLAIN = {"slope": "level", "cord": "none", "wheels": "roll", "ready": "on", "stop_at": "drop"}
"""Answers of the plain way, where they are not the first of a fact's values, or "yes"."""
MOST_ITEMS = 120
_ANSWER = re.compile(r" ?(?:Answer: [^\n]*?|[^.\n]*\bsay noted)\.(?=\n|$)")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the sheet.

    Parameters
    ----------
    item
        The item it is of.
    section
        The name of its section.
    text
        The act or the look it asks for.
    depth
        0 on the plain way, more on ways that lead off it.
    when
        Which answer leads to it, where it begins a way off the plain one.
    is_critical, is_timed
        Its answer names a state; the time of it has to be written down.
    """

    item: str
    section: str
    text: str
    depth: int
    when: str = ""
    is_critical: bool = False
    is_timed: bool = False


@dataclass(frozen=True, slots=True)
class _Stop:
    """The item that is open at some point of a way, and the job there."""

    item: Item
    job: Job


def is_ready(job: Job) -> bool:
    """Say whether vehicle and truck are known, which every line of a sheet hangs on."""
    sized = job.value("weight_class") is not None or job.value("weight") is not None
    return margin_inputs_known(job) and (chosen_card(job) is not None or sized)


def lines(job: Job) -> list[Line]:
    """Return the lines ahead of a job, the plain way in order and the others where they begin."""
    way = list(_way(_free(job)))
    listed = {stop.item.id for stop in way}
    return [line for stop in way for line in _stop_lines(stop, listed, 0, "")]


def _free(job: Job) -> Job:
    """Return the job without interruptions: a pause, an exchange in hand."""
    at = job.now or Moment(0, 0, "")
    return replace(job, paused=None, pending=None, handoff=None, now=at)


def _way(job: Job) -> Iterator[_Stop]:
    """Yield the items of the plain way, one after another, up to its end."""
    gone: set[str] = set()
    for _ in range(MOST_ITEMS):
        job = _figured(job)
        item = job.next_item
        if item is None or item.id in gone:
            return
        gone.add(item.id)
        yield _Stop(item, job)
        if isinstance(item, HandOff) or (isinstance(item, Gate) and not item.acts):
            return
        job = _done(job, item)


def _figured(job: Job) -> Job:
    """Return the job with the next figures computed; a figure has no line of its own."""
    item = job.next_item
    return _figured(_concluded(job, item)) if isinstance(item, Figure) else job


def _concluded(job: Job, item: Figure) -> Job:
    t = _turning(job)
    rests_on = [[name, job.fact_seq(name)] for name in item.rests_on]
    if isinstance(item, PullPlan):
        t.note("planned", figure=item.id, rests_on=rests_on, result=conclude_pull(job))
    elif isinstance(item, LiftPlan):
        lift = conclude_lift(job, item.by)
        t.note("lift_planned", figure=item.id, rests_on=rests_on, result=lift)
    else:
        t.note("concluded", figure=item.id, rests_on=rests_on, result=conclude_margin(job))
    return t.job


def _done(job: Job, item: Item) -> Job:
    """Return the job once an item is done in the plain way."""
    match item:
        case Question():
            return _told(job, item, plain_value(job, item))
        case _ if item.acts:
            t = _turning(job)
            for act in item.acts:
                effects.do(t, act, item.id)
            return t.job
        case _:
            t = _turning(job)
            t.note("done", item=item.id)
            return t.job


def _told(job: Job, item: Question, value: object) -> Job:
    t = _turning(job)
    effects.give(t, item.fact, value, "assumed", item.id)
    return t.job


def _turning(job: Job) -> Turning:
    at = job.now or Moment(0, 0, "")
    return Turning(job, Heard(Person(job.at_vehicle or "", "driver"), at))


def plain_value(job: Job, item: Question) -> object:
    """Return the answer of the plain way: no danger, an end that holds, a cord that is not in."""
    spec = FACTS[item.fact]
    if item.fact in _PLAIN_BY_JOB:
        return _PLAIN_BY_JOB[item.fact](job)
    if item.fact in PLAIN:
        return PLAIN[item.fact]
    if spec.kind in {"choice", "yes_no"}:
        return answer_for(job, item).choices[0][0]
    return 0 if spec.kind == "minutes" else spec.not_sure or ""


def _end_that_holds(job: Job) -> str:
    card = chosen_card(job)
    return "tail" if card is not None and card.holds.first("nose") is None else "nose"


def _set_that_fits(job: Job) -> str:
    return "dollies" if job.value("wheels") == "missing" else "skates"


_PLAIN_BY_JOB = {"facing": _end_that_holds, "goes_under": _set_that_fits}


def _stop_lines(stop: _Stop, listed: set[str], depth: int, when: str) -> Iterator[Line]:
    kind = FACTS[stop.item.fact].kind if isinstance(stop.item, Question) else ""
    if kind == "minutes":
        # The step before it has a place for its time.
        return
    yield _line(stop, depth, when)
    if isinstance(stop.item, Question) and kind in {"choice", "yes_no"}:
        for way, labels in _ways_off(stop, stop.item, listed):
            yield from _way_lines(way, listed, depth + 1, labels)


def _way_lines(way: list[_Stop], listed: set[str], depth: int, labels: str) -> Iterator[Line]:
    """Yield the lines of a way off the plain one; an item listed before gets its line only."""
    known = frozenset(listed)
    listed.update(one.item.id for one in way)
    for index, one in enumerate(way):
        when = "" if index else labels
        if one.item.id in known:
            yield _line(one, depth, when)
        else:
            yield from _stop_lines(one, listed, depth, when)


def _ways_off(stop: _Stop, item: Question, listed: set[str]) -> Iterator[tuple[list[_Stop], str]]:
    """Yield each way off the plain way, the new part of it, with the answers that lead there."""
    plain = plain_value(stop.job, item)
    ways: dict[tuple[str, ...], tuple[list[_Stop], list[str]]] = {}
    for value, label in answer_for(stop.job, item).choices:
        if value != plain:
            way = _new(list(_way(_told(stop.job, item, value))), item, listed)
            ways.setdefault(tuple(one.item.id for one in way), (way, []))[1].append(label)
    for way, labels in ways.values():
        if way:
            yield way, ", ".join(labels)


def _new(way: list[_Stop], item: Item, listed: set[str]) -> list[_Stop]:
    """Return the new part of a way; between new items of its own section nothing is left out.

    The order inside a section matters: the plug comes out before the pin.
    """
    section_of = way[0].job.book.routine.section_of if way else {}
    own = {n for n, one in enumerate(way) if section_of[one.item.id] is section_of[item.id]}
    new = {n for n, one in enumerate(way) if one.item.id not in listed}
    ends = own & new or {0}
    between = own.intersection(range(min(ends), max(ends)))
    return [one for n, one in enumerate(way) if n in new | between]


def _line(stop: _Stop, depth: int, when: str) -> Line:
    item = stop.item
    section = stop.job.book.routine.section_of[item.id].id
    shown = fill(sentences()["items"][item.id]["shown"], stop.job, {})
    return Line(
        item.id,
        sentences()["sections"][section],
        " ".join(_ANSWER.sub("", shown).split()),
        depth,
        when,
        is_critical=item.critical and isinstance(item, Step | Gate),
        is_timed=isinstance(item, WindowStep),
    )


# As text


def head(job: Job) -> list[str]:
    """Return the lines at the head: the job, the margin, the hold, places to keep off."""
    said = sentences()["sheet"]
    items = job.book.routine.items.values()
    figure = next((one for one in items if isinstance(one, Figure)), None)
    done = job if figure is None or job.margin_stands else _concluded(job, figure)
    texts = (said["title"], said["margin"], said["hold"], said["keep_off"], said["phone"])
    return [fill(text, done, _slots(job)) for text in texts]


def _slots(job: Job) -> dict[str, str]:
    card = chosen_card(job)
    way = None if card is None else card.first_way
    ended_by = () if way is None else way.cancelled_by
    said = sentences()["sheet"]
    return {
        "number": str(job.ref),
        "vehicle": said["no_card"] if card is None else card.name,
        "truck": job.book.library.trucks[job.value("truck")].name,
        "ended_by": ", ".join(ended_by) or said["not_said"],
    }


def foot() -> tuple[str, ...]:
    """Return the lines at the foot: danger, a vehicle that rolls, the limits of a sheet."""
    return tuple(sentences()["sheet"]["foot"])


def text(job: Job) -> str:
    """Return the sheet as lines of text."""
    body = (
        line
        for section, of_it in by_section(lines(job))
        for line in ("", section, *map(_text_line, of_it))
    )
    return "\n".join((*head(job), *body, "", sentences()["sheet"]["mark"], *foot()))


def by_section(found: list[Line]) -> Iterator[tuple[str, list[Line]]]:
    """Yield each section of the plain way with its lines, those that lead off it among them."""
    starts = [
        index
        for index, line in enumerate(found)
        if not line.depth and (index == 0 or _section_before(found, index) != line.section)
    ]
    for start, stop in zip(starts, [*starts[1:], len(found)], strict=True):
        yield found[start].section, found[start:stop]


def _section_before(found: list[Line], index: int) -> str:
    return next((line.section for line in reversed(found[:index]) if not line.depth), "")


def _text_line(line: Line) -> str:
    said = sentences()["sheet"]
    box = said["box_critical" if line.is_critical else "box"]
    blank = said["time"] if line.is_timed else ""
    indent = "    " * line.depth
    when = f"{indent}{said['when'].format(answer=line.when)}\n" if line.when else ""
    return f"{when}{indent}{box} {line.text}{blank}"
