"""The danger of a job as it went: seen, what was done about it, and who released it."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from bot.desk.trail import id_label
from bot.packet.drawn import Drawn, Entry
from flows.job.entries import plain
from flows.job.state import LOOK
from flows.texts import packet_texts, word

ACTS = ("people_away", "help_called", "danger_released")
"""What is done about a danger."""


NO_DANGER = ("window", "clock")
"""How the alarms begin that are about time alone."""


class Event(NamedTuple):
    """Something about danger: its key in the texts, when and by whom, and what was said of it."""

    key: str
    time: str
    who: str
    given: Mapping[str, str]

    @property
    def words(self) -> str:
        """It in a few words, for a list."""
        return str(packet_texts()["danger"][self.key]).format_map(self.given)

    @property
    def row(self) -> list[str]:
        """Its row in a table."""
        return [self.time, self.who, self.words]


def events_of(drawn: Drawn) -> list[Event]:
    """Return everything about danger in a job, in the order in which it was said."""
    found = (event for entry in drawn.case.entries for event in _events(drawn, entry))
    return list(found)


def _events(drawn: Drawn, entry: Entry) -> Iterator[Event]:
    key = _key(entry)
    if not key:
        return
    body = entry["body"]
    given = {
        "of": drawn.claimed(entry),
        "sign": _sign(entry),
        "service": drawn.words(body["value"]) if key == "released_by" else "",
        "alarm": id_label(body["key"]) if key == "alarmed" else "",
    }
    yield Event(key, drawn.clock(entry), drawn.who(entry), given)


def _sign(entry: Entry) -> str:
    """Return the sign of danger that was said; one who is not sure twice counts as having seen."""
    texts, sign = packet_texts()["danger"], str(entry["body"].get("sign") or "")
    return texts["sign_unsure"] if sign == word("not_sure") else sign or texts["sign_unsaid"]


def _key(entry: Entry) -> str:
    """Return the key of an entry's sentence; empty where it is not about danger."""
    body, form = entry["body"], ""
    match entry["kind"]:
        case "fact" if body["name"] == "danger":
            form = {"none": "none", LOOK: "look"}.get(str(plain(body["value"])), "seen")
        case "fact" if body["name"] == "released_by":
            form = "released_by"
        case "act" if body["act"] in ACTS:
            form = str(body["act"])
        case "retracted" if body["act"] == "danger_seen":
            form = "mistaken"
        case "handoff_wanted" if body["reason"] == "nobody_came":
            form = "nobody_came"
        case "alarmed" if not str(body["key"]).startswith(NO_DANGER):
            form = "alarmed"
        case _:
            pass
    return form


def ending(events: list[Event]) -> str:
    """Return how the danger ended: "none", "released", "mistaken", "open", or "not_asked"."""
    how = "not_asked"
    for event in events:
        match event.key:
            case "seen" | "none":
                # A look that finds nothing later on does not undo a release.
                how = "open" if event.key == "seen" else ("none" if how == "not_asked" else how)
            case "danger_released":
                how = "released"
            case "mistaken":
                how = "mistaken"
            case _:
                pass
    return how
