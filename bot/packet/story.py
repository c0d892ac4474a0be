"""A job told in a few sentences that a claims person can read aloud: no figure left to look up."""

from collections.abc import Iterator

from bot.desk.trail import spare_label
from bot.packet.danger_pages import Event, ending, events_of
from bot.packet.drawn import Drawn, Entry
from bot.packet.page_one import (
    checks_of,
    left_out_of,
    photos_of,
    reason_of,
    shortened,
    straps_at,
    vehicle_of,
)
from bot.packet.window_pages import windows_of
from flows.job.acts import WHEELS
from flows.job.entries import plain
from flows.telling.left_open import left_open_label
from flows.texts import packet_texts

MOST_EVENTS = 8
"""The most sentences about danger; its own page has all of it."""


def story(drawn: Drawn) -> list[str]:
    """Return the story, a paragraph each: how it began, the danger, the work, how it ended."""
    parts = (_began(drawn), _danger(drawn), _worked(drawn), _ended(drawn))
    told = (" ".join(shortened(f"{one[0].upper()}{one[1:]}") for one in part) for part in parts)
    return [text for text in told if text]


def _said(key: str, **given: object) -> str:
    return str(packet_texts()["story"][key]).format_map(given)


def _began(drawn: Drawn) -> Iterator[str]:
    opened = drawn.case.entries[0]
    yield _said("opened", who=drawn.who(opened), day=drawn.day(opened), time=drawn.clock(opened))
    yield from _happened(drawn)
    if "asked_by" in drawn.known:
        yield _said("asked_by", who=drawn.value("asked_by"), call=drawn.value("emergency") or "-")
    yield from _drivers(drawn)
    if named := vehicle_of(drawn):
        yield _said("vehicle", vehicle=named)
    for name in ("plate", "vin"):
        if name in drawn.known:
            yield _said(name, value=drawn.value(name))


def _happened(drawn: Drawn) -> Iterator[str]:
    """Yield what happened, and where, as far as both are known."""
    history = (
        str(plain(drawn.known["history"]["body"]["value"])) if "history" in drawn.known else ""
    )
    what = packet_texts()["story"]["history"].get(history, "")
    place = drawn.values("place")
    if what:
        yield _said("what_where" if place else "what", what=what, place=place)
    elif place:
        yield _said("where", place=place)


def _drivers(drawn: Drawn) -> Iterator[str]:
    opened, truck = drawn.case.entries[0], drawn.value("truck")
    taken = [(opened, opened["body"].get("at_vehicle"))]
    taken += [(entry, entry["body"]["to"]) for entry in drawn.of_kind("handover")]
    found = [(entry, person) for entry, person in taken if person]
    for number, (entry, person) in enumerate(found):
        form = "driver_next" if number else ("driver_truck" if truck else "driver")
        yield _said(form, who=drawn.name(str(person)), truck=truck, time=drawn.clock(entry))


def _danger(drawn: Drawn) -> Iterator[str]:
    events = events_of(drawn)
    texts = packet_texts()["story"]["danger"]
    for event in events[:MOST_EVENTS]:
        yield _of_danger(texts[event.key], event)
    if len(events) > MOST_EVENTS:
        yield _said("more_danger", count=len(events) - MOST_EVENTS)
    how = ending(events)
    if how in {"open", "not_asked"}:
        yield _said(f"danger_{how}")


def _of_danger(text: str, event: Event) -> str:
    return text.format_map({"time": event.time, "who": event.who, **event.given})


def _worked(drawn: Drawn) -> Iterator[str]:
    yield from _figured(drawn)
    decks = drawn.acts("on_deck")
    neutral = drawn.acts("neutral_selected")
    if decks:
        form = "neutral_deck" if neutral and neutral[0]["seq"] < decks[0]["seq"] else "deck"
        yield _said(form, neutral=drawn.clock(neutral[0]) if neutral else "",
                    deck=drawn.clock(decks[-1 if not drawn.acts("off_deck") else 0]))  # fmt: skip
    if any(window["over"] for window in windows_of(drawn)):
        yield _said("window_over")
    yield from _tied(drawn)
    yield from _drove(drawn)


def _figured(drawn: Drawn) -> Iterator[str]:
    figures = drawn.of_kind("concluded")
    texts = packet_texts()["story"]["verdict"]
    for figure in figures[-1:]:
        result = figure["body"]["result"]
        yield _said("figure", verdict=texts[result["verdict"]], governing=result["governing"],
                    spare=spare_label(result))  # fmt: skip
    verdicts = [figure["body"]["result"]["verdict"] for figure in figures]
    other = [n for n, verdict in enumerate(verdicts) if verdict != verdicts[-1]]
    for n in other[-1:]:
        yield _said("figure_changed", verdict=verdicts[n], time=drawn.clock(figures[n]))
    for entry in drawn.of_kind("overridden"):
        yield _said("overridden", who=drawn.who(entry), verdict=entry["body"]["verdict"],
                    reason=drawn.words(entry["body"]["reason"]))  # fmt: skip


def _tied(drawn: Drawn) -> Iterator[str]:
    on, last = straps_at(drawn)
    if last is None:
        return
    wheels = ", ".join(wheel.replace("_", " ") for wheel in on)
    form = "tied" if len(on) == len(WHEELS) else ("tied_some" if on else "tied_none")
    yield _said(form, wheels=wheels, time=drawn.clock(last))


def _drove(drawn: Drawn) -> Iterator[str]:
    left = drawn.acts("departs")
    if not left:
        yield _said("never_left" if drawn.of_kind("ended") else "not_left_yet")
        return
    yield _said("left", time=drawn.clock(left[0]))
    checks = [drawn.clock(entry) for entry in checks_of(drawn)]
    yield _said("checked", times=", ".join(checks)) if checks else _said("not_checked")


def _ended(drawn: Drawn) -> Iterator[str]:
    yield from _received(drawn)
    for name in ("condition", "changes"):
        if name in drawn.known:
            yield _said(name, who=drawn.who(drawn.known[name]), value=drawn.value(name))
    if photos := photos_of(drawn):
        yield _said("photos", photos=photos)
    left_out = list(left_out_of(drawn, "skipped", "unseen"))
    yield _said("left_out", steps=" ".join(left_out)) if left_out else _said("nothing_left_out")
    yield from _left_open(drawn)


def _left_open(drawn: Drawn) -> Iterator[str]:
    ended = drawn.of_kind("ended")[-1:]
    if not ended:
        yield _said("still_open", time=drawn.clock(drawn.case.entries[-1]))
    for entry in ended:
        left = [left_open_label(name) for name in entry["body"].get("open", ())]
        yield _said("left_open", what=", ".join(left)) if left else _said("nothing_open")


def _received(drawn: Drawn) -> Iterator[str]:
    ended = drawn.of_kind("ended")[-1:]
    if "received_by" in drawn.known:
        entry = drawn.known["received_by"]
        yield _said("received", name=drawn.answer(entry), time=drawn.clock(entry))
    for entry in ended:
        if reason := reason_of(entry):
            yield _handed_off(drawn, entry, reason)
    if "key_left" in drawn.known:
        yield _said("key_left", value=drawn.value("key_left"))


def _handed_off(drawn: Drawn, entry: Entry, reason: str) -> str:
    name = drawn.value("handed_to")
    form = "handed_to" if name else "handed_off"
    return _said(form, name=name, time=drawn.clock(entry), reason=reason)
