"""Lines that any channel can show: a reply with its texts and state, or one text of our own."""

import hashlib
from collections.abc import Mapping
from typing import Any

from flows.hearing.answers import Answer
from flows.job import windows
from flows.job.entries import plain
from flows.job.events import MINUTE_NS
from flows.job.state import Job
from flows.reckoning.margin_inputs import drawing_of
from flows.routine.items import Item
from flows.telling.labels import last_label
from flows.telling.render import render
from flows.telling.reply import Reply
from flows.turn.as_rules_see import offered
from flows.turn.turning import Turn

SHOWS_NUMBERS = "says.numbers"
"""The sentence that the margin's drawing goes with, on a channel that shows pictures."""
LEADS = frozenset({"says.echo", "says.opened", "says.section_done", "says.unseen_noted"})
"""Sentences that ask for nothing, and lead to the question behind them: on a phone one message."""

NEVER_SHOWN = frozenset({"job_closed", "ready_counts", "handed_off"})
"""Acts of the record's own keeping: no line offers them."""
UNITS = {
    "weight": "lb",
    "load_lb": "lb",
    "pull_ft": "ft",
    "ceiling_in": "in",
    "neutral_when": "min",
}


Line = tuple[str, Mapping[str, Any]]
"""The chat it goes to, and its body."""


def line(text: str, priority: str = "reply", **more: object) -> dict[str, Any]:
    """Return the body of a line that says one text, and asks nothing.

    Examples
    --------
    >>> line("Done.")["shown"], line("Done.")["expects"]
    ('Done.', {'kind': 'nothing'})
    """
    expects = {"kind": "nothing"}
    return {"priority": priority, "expects": expects, "spoken": text, "shown": text, **more}


def is_line(body: Mapping[str, Any]) -> bool:
    """Say whether the body of a reply has all that a channel shows.

    Examples
    --------
    >>> is_line(line("Done.")), is_line({"shown": "Done."})
    (True, False)
    """
    expects = body.get("expects")
    texts = [body.get(name) for name in ("spoken", "shown", "priority")]
    if "error" in body:
        error = body["error"]
        texts = [error.get("wrong"), error.get("do")] if isinstance(error, dict) else [None]
    is_asking = isinstance(expects, dict) and isinstance(expects.get("kind"), str)
    return is_asking and all(isinstance(text, str) for text in texts)


def choices(*given: tuple[str, str]) -> dict[str, Any]:
    """Return the "expects" of a line that offers choices, each an id and a label."""
    return {"kind": "choice", "choices": [{"id": one, "label": label} for one, label in given]}


def line_of(reply: Reply, job: Job) -> dict[str, Any]:
    """Return one message as a line: all but its chat, its number, and the message it answers.

    Parameters
    ----------
    reply
        The message, before it is worded.
    job
        The job after the whole turn.
    """
    texts = render(reply)
    line: dict[str, Any] = {"job": str(job.ref), "priority": reply.priority}
    item = job.book.routine.items.get(reply.item)
    if item is not None and reply.to == "driver":
        line |= {} if _is_alarm(reply) else _about_item(item, job)
        line["acts"] = _acts_of(item)
    line["acts_now"] = job.acts.changed()
    line["expects"] = expects_of(reply.answer)
    line["spoken"], line["shown"] = texts.spoken, texts.shown
    optional = {
        "why": texts.why,
        "window": window_of(job),
        "open": open_of(job),
        "ask": reply.ask,
    }
    line |= {name: value for name, value in optional.items() if value}
    if reply.key in LEADS:
        line["leads"] = True
    if reply.key == SHOWS_NUMBERS:
        line["drawing"] = hashlib.sha256(drawing_of(job).encode()).hexdigest()
    return line


def _about_item(item: Item, job: Job) -> dict[str, Any]:
    return {
        "section": job.book.routine.section_of[item.id].id,
        "item": item.id,
        "critical": item.critical,
        "repeatable": item.repeatable,
    }


def _acts_of(item: Item) -> list[str]:
    return [act for act in offered(item) if act not in NEVER_SHOWN]


def _is_alarm(reply: Reply) -> bool:
    return reply.key.startswith("says.") and reply.priority != "reply"


def expects_of(answer: Answer) -> dict[str, Any]:
    """Return the answer a message expects, in the form of the lines interface."""
    expects: dict[str, Any] = {"kind": answer.kind}
    if answer.choices:
        expects["choices"] = [{"id": one, "label": label} for one, label in answer.choices]
    if answer.words:
        expects["words"] = list(answer.words)
    if answer.kind == "quantity" and answer.usual is not None:
        expects |= {"dimension": "mass", "usual": list(answer.usual), "unit": "lb"}
    return expects


def window_of(job: Job) -> dict[str, Any] | None:
    """Return the open neutral window: opened, ends, minutes left; None if none is open."""
    window = job.window
    if window is None or window.state != "open" or job.now is None:
        return None
    wall_ms = job.now.wall_ms - (job.now.mono_ns - window.earliest_ns) // windows.MS_NS
    if window.hold_min is None:
        return {"opened_ms": wall_ms, "promised": False}
    return {
        "opened_ms": wall_ms,
        "ends_ms": wall_ms + window.hold_min * 60_000,
        "left_min": windows.left_ns(window, job.now) // MINUTE_NS,
        "promised": True,
    }


def open_of(job: Job) -> list[dict[str, str]]:
    """Return open matters besides the question: skips, a hand-off, a pause, an alarm."""
    found = [
        {"kind": "skip", "item": skip.item, "label": last_label(skip.item)}
        for skip in job.skips
        if skip.settled_by is None
    ]
    found += [
        {"kind": "deferral", "item": deferral.item, "label": last_label(deferral.item)}
        for deferral in job.deferred
    ]
    if job.handoff is not None:
        found.append({"kind": "hand_off", "reason": job.handoff})
    if job.paused is not None:
        found.append({"kind": "hold", "reason": job.paused_why})
    if job.alarm is not None:
        found.append({"kind": "alarm", "alarm": job.alarm.key})
    return found


def facts_of(turn: Turn) -> dict[str, Any]:
    """Return the facts that a turn recorded or changed, each with its unit and provenance."""
    found: dict[str, Any] = {}
    for entry, by in turn.entries:
        if entry.kind == "fact":
            name = entry.body["name"]
            value = plain(entry.body["value"])
            found[name] = {"value": value, "how": entry.body["how"], "by": by}
            if name in UNITS and isinstance(value, int):
                found[name]["unit"] = UNITS[name]
        elif entry.kind == "fact_cleared":
            found[entry.body["name"]] = {"value": None, "how": "cleared", "by": by}
    return found


def figures_of(turn: Turn) -> list[dict[str, Any]]:
    """Return the figures that a turn computed: inputs, result, governing limit, source."""
    return [
        {
            "figure": entry.body["figure"],
            **_figure(entry.body["result"]),
            "drawing": entry.body["drawing"],
        }
        for entry, _ in turn.entries
        if entry.kind == "concluded"
    ]


def _figure(result: Mapping[str, Any]) -> dict[str, Any]:
    rest = {key: value for key, value in result.items() if key not in {"inputs", "source"}}
    return {
        "inputs": result["inputs"],
        "result": rest,
        "governing": result["governing"],
        "source": result["source"],
    }
