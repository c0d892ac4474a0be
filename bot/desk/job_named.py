"""How a message names the job it is for, and what is left to say then."""

from bot.record.rows import Chat
from flows.job.state import Job
from flows.measures.tokens import tokens

TAKES_OVER = frozenset({("take", "over"), ("taking", "over"), ("i", "take", "over"),
                        ("i'm", "taking", "over"), ("i", "am", "taking", "over"),
                        ("i'll", "take", "over"), ("take",), ("i'll", "take")})  # fmt: skip


def named(text: str | None) -> int | None:
    """Return the number in "job 12", "job 12, override ..." or "take over job 12"."""
    said = tokens(text) if text else ()
    place = said.index("job") if "job" in said else -1
    if place < 0 or (place and said[:place] not in TAKES_OVER):
        return None
    number = said[place + 1 : place + 2]
    return int(number[0]) if number and number[0].isdecimal() and len(number[0]) < 10 else None


def after_name(text: str) -> str:
    """Return what is said beside the name of the job: "override ...", "take over"."""
    said = text.split()
    place = next(place for place, word in enumerate(said) if word.lower().startswith("job"))
    return "take over" if place else " ".join(said[2:])


def arriving(job: Job, chat: Chat) -> str:
    """Return what only naming a job means: a driver comes to its vehicle, or back to it."""
    if chat.role == "driver" and job.ended is None and job.at_vehicle is None:
        return "take over"
    is_back = job.at_vehicle == chat.person and job.paused_why == "left"
    return "resume" if is_back else "status"
