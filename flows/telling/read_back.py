"""How a deciding number is read back: digit by digit, and a weight as it was said."""

from flows.job.state import Job, Pending
from flows.measures.say import digits, say_mass_lb, say_written_mass
from flows.texts import word


def read_back_slots(pending: Pending) -> dict[str, str]:
    """Return what fills the sentences that read a number back."""
    return {
        "value_spoken": _read(pending, spoken=True),
        "value_shown": _read(pending, spoken=False),
    }


def value_read_back(job: Job, *, spoken: bool) -> str:
    """Return the number in hand as it is read back; a word where there is none."""
    return word("none") if job.pending is None else _read(job.pending, spoken=spoken)


def _read(pending: Pending, *, spoken: bool) -> str:
    if not isinstance(pending.value, int):
        return word("none")
    if pending.kind == "read_back_feet":
        return digits(pending.value).capitalize() if spoken else str(pending.value)
    if pending.kind == "read_back_load":
        return say_mass_lb(pending.value).capitalize() if spoken else f"{pending.value} lb"
    pounds, said = pending.value, pending.said
    if not spoken:
        return word("said_shown").format(said=said, lb=pounds) if said else f"{pounds} lb"
    plain = not said or pending.kind == "read_back_range"
    return (say_mass_lb(pounds) if plain else say_written_mass(said)).capitalize()
