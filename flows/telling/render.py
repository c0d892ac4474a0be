"""The three texts of a message: spoken, shown, and why on request."""

import re
from dataclasses import dataclass

from flows.telling.reply import Reply
from flows.telling.saying import fill
from flows.texts import sentences, word
from flows.texts.plainness import sentences as split, words


@dataclass(frozen=True, slots=True)
class Rendered:
    """The texts of a message: aloud, at a glance, and why."""

    spoken: str
    shown: str
    why: str


def render(reply: Reply) -> Rendered:
    """Return the texts of a message, its placeholders filled from the job and its slots."""
    table, _, key = reply.key.partition(".")
    texts = sentences()[table][key]
    if reply.key == "says.why":
        why = _why(reply)
        first = split(why["why"])[0]
        spoken = first if _can_be_said(first) else fill(texts["spoken"], reply.job, why)
        return Rendered(spoken, fill(texts["shown"], reply.job, why), "")
    other = texts.get(reply.variant) if reply.variant != "spoken" else None
    spoken, shown = (other, other) if other else (texts["spoken"], texts["shown"])
    return Rendered(
        spoken=fill(spoken, reply.job, reply.slots),
        shown=fill(shown, reply.job, reply.slots),
        why=fill(texts.get("why", ""), reply.job, reply.slots),
    )


MOST_SAID = 16
_NOT_SAID = re.compile(r"[0-9/():;]")


def _can_be_said(sentence: str) -> bool:
    """Say whether a sentence is short enough to hear, and holds no figures or marks."""
    return len(words(sentence)) <= MOST_SAID and not _NOT_SAID.search(sentence)


def _why(reply: Reply) -> dict[str, str]:
    item = sentences()["items"].get(reply.item)
    text = word("nothing") if item is None else str(item["why"])
    return {"why": fill(text, reply.job, reply.slots)}
