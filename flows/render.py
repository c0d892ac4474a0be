"""The three texts of a message: spoken, shown, and why on request."""

from dataclasses import dataclass

from flows.saying import fill
from flows.texts import sentences, word
from flows.turn import Reply


@dataclass(frozen=True, slots=True)
class Rendered:
    """What a message says: aloud, at a glance, and why."""

    spoken: str
    shown: str
    why: str


def render(reply: Reply) -> Rendered:
    """Return the texts of a message, its placeholders filled from the job and its slots."""
    table, _, key = reply.key.partition(".")
    texts = sentences()[table][key]
    if reply.key == "says.why":
        spoken, shown = (fill(texts[part], reply.job, _why(reply)) for part in ("spoken", "shown"))
        return Rendered(spoken, shown, "")
    looks = reply.variant == "look" and "look" in texts
    spoken, shown = (texts["look"],) * 2 if looks else (texts["spoken"], texts["shown"])
    return Rendered(
        spoken=fill(spoken, reply.job, reply.slots),
        shown=fill(shown, reply.job, reply.slots),
        why=fill(texts.get("why", ""), reply.job, reply.slots),
    )


def _why(reply: Reply) -> dict[str, str]:
    item = sentences()["items"].get(reply.item)
    text = word("nothing") if item is None else str(item["why"])
    return {"why": fill(text, reply.job, reply.slots)}
