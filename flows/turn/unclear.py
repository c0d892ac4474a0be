"""What was not understood: say again, then the choices, then buttons or dispatch."""

from flows.hearing.prompts import Prompt, choice_slots
from flows.job.acts import WINCH_RUNS
from flows.job.events import Heard
from flows.job.intents import Nothing
from flows.turn.turning import BOT, Turning


def nothing(t: Turning, intent: Nothing, prompt: Prompt) -> None:
    """Say why nothing was taken, or that it was not understood."""
    heard = t.event
    # Every other time: the same sentence never comes twice running.
    again = t.job.unclear % 2 == 1 or t.job.acts["winch"] in WINCH_RUNS
    known = {"empty", "too_long", "kind_first"}
    if again or not isinstance(heard, Heard) or intent.why not in known:
        unclear(t, prompt)
        return
    if t.sender_is_driver():
        t.note("unclear", BOT, n=t.job.unclear + 1)
    t.answer_sender(intent.why, length=f"{len(heard.text):,}")


def unclear(t: Turning, prompt: Prompt) -> None:
    """Say it was not understood: say again, then the choices, then buttons or dispatch.

    While the winch moves each of these offers to stop it first. On the road nothing is offered.
    """
    if not t.sender_is_driver():
        _unclear_to(t)
        return
    n = t.job.unclear + 1
    t.note("unclear", BOT, n=n)
    level = _level(n)
    if t.job.acts["winch"] in WINCH_RUNS:
        t.answer_sender(f"unclear_pull_{level}")
        return
    if t.job.acts["rolling"] == "rolling":
        t.answer_sender(f"unclear_rolling_{2 - n % 2}")
        return
    if level > 1 and not prompt.answer.choices:
        level = 1 if n % 2 else 3
    t.answer_sender(f"unclear_{level}", **choice_slots(prompt))


def _unclear_to(t: Turning) -> None:
    """Say to somebody else that it was not understood, and then what they may say."""
    who, often = t.job.unclear_to
    n = often + 1 if who == t.by else 1
    t.note("unclear", BOT, n=n, of=t.by)
    t.answer_sender(f"unclear_to_{_level(n)}")


def _level(n: int) -> int:
    """Return which text says it for the n-th time: 1, 2, 3, then 2 and 3 in turn."""
    return n if n < 3 else 2 + n % 2
