"""How a message names the job it is for, and the words left without the name."""

from bot.record.rows import Chat
from flows.job.state import Job
from flows.measures.tokens import tokens

TAKES_OVER = frozenset({("take", "over"), ("taking", "over"), ("i", "take", "over"),
                        ("i'm", "taking", "over"), ("i", "am", "taking", "over"),
                        ("i'll", "take", "over"), ("take",), ("i'll", "take")})  # fmt: skip


def named(text: str | None) -> int | None:
    """Return the number in "job 12", "job 12, override ..." or "take over job 12"."""
    said = tokens(text or "")
    if "job" not in said:
        return None
    index = said.index("job")
    before, after = said[:index], said[index + 1 :]
    if before and before not in TAKES_OVER:
        return None
    return _number(after[0]) if after else None


def _number(said: str) -> int | None:
    return int(said) if said.isdecimal() and len(said) < 10 else None


def meant(text: str, job: Job, chat: Chat) -> str:
    """Return what a message says to the job that it names."""
    return after_name(text) or arriving(job, chat)


def after_name(text: str) -> str:
    """Return the words besides the job's name: "override ...", "take over"."""
    said = text.split()
    index = next(index for index, word in enumerate(said) if word.lower().startswith("job"))
    return "take over" if index else " ".join(said[2:])


def arriving(job: Job, chat: Chat) -> str:
    """Return the meaning of a job's bare name: a driver arrives at its vehicle, or is back."""
    if chat.role == "driver" and job.ended is None and job.at_vehicle is None:
        return "take over"
    is_back = job.at_vehicle == chat.person and job.paused_why == "left"
    return "resume" if is_back else "status"
