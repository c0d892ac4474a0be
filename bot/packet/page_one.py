"""The first page of a summary: the questions that a claim asks first, each beside its answer."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from itertools import groupby

from bot.desk.trail import id_label, spare_label
from bot.packet.danger_pages import ending, events_of
from bot.packet.drawn import Drawn, Entry
from bot.packet.window_pages import windows_of
from flows.job.acts import WHEELS
from flows.telling.labels import last_label
from flows.texts import packet_texts

MOST_LINES = 8
FEWEST_LINES = 2
"""The most lines beside one question, as a rule and where the page is full; the pages after it
have them all."""

MOST_CHARACTERS = 240
"""The longest line or sentence of the page [character]."""

Lines = Callable[[Drawn], Iterator[str]]


def headline(drawn: Drawn, open_count: int) -> Iterator[dict[str, str]]:
    """Yield what a busy reader wants first: result, danger, figure, neutral, open points."""
    texts = packet_texts()["summary"]
    yield _result(drawn)
    how = ending(events_of(drawn))
    dangers = packet_texts()["danger"]
    yield head(texts["danger"], dangers["ending"][how], "", dangers["tone"][how])
    yield _margin(drawn)
    yield _window(drawn)
    yield head(texts["points"], str(open_count), "", "close" if open_count else "go")


def head(name: str, value: str, note: str, tone: str) -> dict[str, str]:
    """Return a part of the headline; its tone names a colour."""
    return {"name": name, "value": value, "note": note, "tone": tone}


def _result(drawn: Drawn) -> dict[str, str]:
    texts = packet_texts()["summary"]
    for ended in drawn.of_kind("ended")[-1:]:
        return head(texts["result"], texts[ended["body"]["how"]], reason_of(ended), "plain")
    return head(texts["result"], texts["still_open"], "", "plain")


def reason_of(ended: Entry) -> str:
    """Return why a job was handed off, in words; empty for a job that was closed."""
    reason = str(ended["body"].get("reason") or "")
    return packet_texts()["reasons"].get(reason) or (id_label(reason, "reasons") if reason else "")


def _margin(drawn: Drawn) -> dict[str, str]:
    texts = packet_texts()["summary"]
    for margin in drawn.of_kind("concluded")[-1:]:
        result = margin["body"]["result"]
        note = f"{result['governing']}, {spare_label(result)}"
        return head(texts["margin"], result["verdict"], note, result["verdict"])
    return head(texts["margin"], texts["margin_none"], "", "plain")


def _window(drawn: Drawn) -> dict[str, str]:
    """Return the first window that ran out, or else the last window."""
    texts = packet_texts()["summary"]
    windows = list(windows_of(drawn))
    for window in [each for each in windows if each["over"]] or windows[-1:]:
        tone = "no-go" if window["over"] else "plain"
        return head(texts["window_short"], window["short"], "", tone)
    return head(texts["window_short"], texts["window_none"], "", "plain")


def answers(drawn: Drawn, last: Mapping[str, list[str]]) -> Iterator[dict[str, object]]:
    """Yield each question of the first page with the lines of its answer.

    Parameters
    ----------
    last
        The lines of the last questions, by key: what was left open, gaps.
    """
    texts = packet_texts()["page"]
    found = {key: list(lines(drawn)) for key, lines in ASKED.items()}
    for key, lines in {**found, **last}.items():
        given = [shortened(line) for line in lines] or [texts["not_recorded"]]
        yield {
            "name": texts["asked"][key],
            "lines": _few(given, MOST_LINES),
            "fewest": _few(given, FEWEST_LINES),
        }


def shortened(line: str) -> str:
    """Return a line no longer than the first page has room for; other pages have all of it."""
    return line if len(line) <= MOST_CHARACTERS else f"{line[: MOST_CHARACTERS - 3]}..."


def _few(lines: list[str], most: int) -> list[str]:
    """Return the first and the last of many lines, and how many there are between them."""
    between = len(lines) - most
    if between <= 0:
        return lines
    half = most // 2
    return [*lines[:half], _said("more", count=between), *lines[-half:]]


def _said(key: str, **given: object) -> str:
    return str(packet_texts()["page"][key]).format_map(given)


def _when(drawn: Drawn) -> Iterator[str]:
    first, last = drawn.case.entries[0], drawn.case.entries[-1]
    yield _said("from_to", day=drawn.day(first), first=drawn.clock(first),
                last=drawn.clock(last), zone=drawn.zone)  # fmt: skip
    left, there = drawn.acts("departs"), _arrival(drawn)
    if left:
        form = "left_arrived" if there else "left"
        yield _said(form, left=drawn.clock(left[0]), there=drawn.clock(there) if there else "")


def _arrival(drawn: Drawn) -> Entry | None:
    """Return the entry of the arrival at the drop; None where it never came there."""
    drops = [e for e in drawn.facts("stop_at") if e["body"]["value"] == "drop"]
    return drops[0] if drops else None


def _valued(name: str) -> Lines:
    """Return the line of one fact, under its own words."""

    def lines(drawn: Drawn) -> Iterator[str]:
        if name in drawn.known:
            yield _said(name, value=drawn.values(name))

    return lines


def _joined(*parts: Lines) -> Lines:
    """Return some short lines as one."""

    def lines(drawn: Drawn) -> Iterator[str]:
        if found := [line for part in parts for line in part(drawn)]:
            yield " ".join(found)

    return lines


def _who(drawn: Drawn) -> Iterator[str]:
    yield _said("opened_by", name=drawn.who(drawn.case.entries[0]))
    people = [e["vehicle"] for e in drawn.case.entries if e["vehicle"]]
    drivers = ", ".join(drawn.name(person) for person in dict.fromkeys(people))
    truck = drawn.values("truck")
    if drivers:
        yield _said("driver_truck" if truck else "driver", name=drivers, truck=truck)


def _asking(drawn: Drawn) -> Iterator[str]:
    for name in ("asked_by", "emergency", "owner_contact"):
        yield from _valued(name)(drawn)


def _people(drawn: Drawn) -> Iterator[str]:
    yield from _joined(_who)(drawn)
    yield from _joined(_asking)(drawn)


OF_VEHICLE = ("card", "weight_class", "powertrain", "weight")


def vehicle_of(drawn: Drawn) -> str:
    """Return what is recorded about the vehicle's model, size, drive and weight."""
    return ", ".join(drawn.value(name) for name in OF_VEHICLE if name in drawn.known)


def _vehicle(drawn: Drawn) -> Iterator[str]:
    if named := vehicle_of(drawn):
        yield f"{named}."
    yield _said("plate", value=drawn.value("plate") or _said("unknown"))
    yield _said("vin", value=drawn.value("vin") or _said("unknown"))


WRONG = ("history", "wakes", "cord", "wheels")
"""The facts about what was wrong with the vehicle."""


def _wrong(drawn: Drawn) -> Iterator[str]:
    questions = packet_texts()["questions"]
    for name in WRONG:
        if given := drawn.values(name):
            yield _said("asked_said", question=questions[name], answer=given)


def _danger(drawn: Drawn) -> Iterator[str]:
    events = events_of(drawn)
    yield _said("ending", how=packet_texts()["danger"]["ending"][ending(events)])
    for event in events:
        yield _said("at_by", time=event.time, who=event.who, words=event.words)


def _figures(drawn: Drawn) -> Iterator[str]:
    """Yield each figure that differs from the one before it, and who decided against it."""
    figures = drawn.of_kind("concluded", "lift_planned", "overridden")
    told = ((entry, _figure(drawn, entry)) for entry in figures)
    for words, same in groupby(told, key=lambda one: one[1]):
        entry, _ = next(same)
        yield _said("at", time=drawn.clock(entry), words=words)


def _figure(drawn: Drawn, entry: Entry) -> str:
    body = entry["body"]
    if entry["kind"] == "overridden":
        return _said("overridden", who=drawn.who(entry), verdict=body["verdict"],
                     reason=drawn.words(body["reason"]))  # fmt: skip
    result = body["result"]
    if entry["kind"] == "lift_planned":
        spare = spare_label({"governing_margin_lb": result["left_lb"]})
        return _said("lift", verdict=result["word"], governing=result["governing"], spare=spare)
    return _said("margin", verdict=result["verdict"], governing=result["governing"],
                 spare=spare_label(result))  # fmt: skip


def _neutral(drawn: Drawn) -> Iterator[str]:
    texts = packet_texts()["summary"]
    opened = [e for e in drawn.of_kind("window") if e["body"]["event"] == "opened"]
    for entry, window in zip(opened, windows_of(drawn), strict=True):
        end = texts["window_over" if window["over"] else "window_kept"]
        yield _said("window", time=drawn.clock(entry), short=window["short"], end=end)
    if not opened:
        yield texts["no_window"]


def straps_at(drawn: Drawn) -> tuple[list[str], Entry | None]:
    """Return the wheels with a strap on, and the last entry of one.

    They are as they were when the truck first left, or at the end where it never did.
    """
    left = drawn.acts("departs")
    seq = left[0]["seq"] if left else len(drawn.case.entries)
    job = drawn.until(seq)
    on = [wheel for wheel in WHEELS if job.acts[f"strap.{wheel}"] == "on"]
    strapped = drawn.acts(*(f"strapped_{wheel}" for wheel in WHEELS))
    return on, next((e for e in reversed(strapped) if e["seq"] < seq), None)


def _tied(drawn: Drawn) -> Iterator[str]:
    on, last = straps_at(drawn)
    if last is None:
        yield _said("not_tied")
        return
    names = ", ".join(wheel.replace("_", " ") for wheel in on)
    form = "tied" if len(on) == len(WHEELS) else "tied_some"
    yield _said(form, wheels=names or _said("no_wheel"), time=drawn.clock(last),
                who=drawn.who(last))  # fmt: skip
    if drawn.acts("chains_on"):
        yield _said("chained")
    yield from _taken_up(drawn)


def _taken_up(drawn: Drawn) -> Iterator[str]:
    """Say when the slack was last taken up."""
    settled = [e for e in drawn.of_kind("done") if e["body"]["item"] == "secure.settle"]
    for entry in settled[-1:]:
        yield _said("taken_up", time=drawn.clock(entry))


def checks_of(drawn: Drawn) -> list[Entry]:
    """Return the checks of the load on the way, each as the entry that completed it."""
    return [*drawn.acts("load_checked")]


def _checked(drawn: Drawn) -> Iterator[str]:
    if not drawn.acts("departs"):
        yield _said("never_left" if drawn.of_kind("ended") else "not_left_yet")
        return
    for entry in checks_of(drawn):
        yield _said("checked", time=drawn.clock(entry), who=drawn.who(entry))
    if not checks_of(drawn):
        yield _said("not_checked")


def _took(drawn: Drawn) -> Iterator[str]:
    for name in ("received_by", "handed_to"):
        for entry in list(drawn.facts(name))[-1:]:
            yield _said(name, value=drawn.answer(entry), time=drawn.clock(entry),
                        who=drawn.who(entry))  # fmt: skip
    for ended in drawn.of_kind("ended")[-1:]:
        if reason := reason_of(ended):
            yield _said("because", reason=reason)
    yield from _valued("key_left")(drawn)


def _condition(drawn: Drawn) -> Iterator[str]:
    for entry in list(drawn.facts("condition"))[-1:]:
        yield _said("condition", value=drawn.answer(entry), time=drawn.clock(entry),
                    who=drawn.who(entry))  # fmt: skip
    yield from _valued("changes")(drawn)


def _photos(drawn: Drawn) -> Iterator[str]:
    if found := photos_of(drawn):
        yield found


def photos_of(drawn: Drawn) -> str:
    """Return how many photos there are of what; empty where there is none."""
    named = packet_texts()["page"]["photos_of"]
    kept = [file.item for file in drawn.case.files if file.kind == "photo"]
    counts = Counter(named.get(item, named["other"]) for item in kept)
    return ", ".join(f"{count} {name}" for name, count in counts.items())


def left_out_of(drawn: Drawn, *kinds: str) -> Iterator[str]:
    """Yield each step that was left out, and each set of photos not taken, with its reason.

    Parameters
    ----------
    kinds
        The kinds of entries: "skipped" for steps, "unseen" for photos.
    """
    named = packet_texts()["page"]["photos_of"]
    for entry in drawn.of_kind(*kinds):
        item = entry["body"]["item"]
        label = named.get(item, last_label(item))
        yield _said(entry["kind"], label=label, reason=drawn.words(entry["body"]["reason"]))


def _left_out(drawn: Drawn) -> Iterator[str]:
    yield from left_out_of(drawn, "skipped", "unseen")
    if not drawn.of_kind("skipped", "unseen"):
        yield _said("nothing_left_out")


ASKED: Mapping[str, Lines] = {
    "when": _when,
    "where": _joined(_valued("place"), _valued("destination")),
    "who": _people,
    "vehicle": _joined(_vehicle),
    "wrong": _joined(_wrong),
    "danger": _danger,
    "figures": _figures,
    "neutral": _neutral,
    "tied": _joined(_tied),
    "checked": _checked,
    "took": _joined(_took),
    "condition": _joined(_condition),
    "photos": _photos,
    "left_out": _left_out,
}
"""What the first page answers, in order."""
