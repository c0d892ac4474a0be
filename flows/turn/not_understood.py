"""What is said to whoever was not understood: again, the choices, then buttons or dispatch."""

from flows.hearing.answers import ALARMS
from flows.hearing.prompts import Prompt, choice_slots
from flows.job.acts import WINCH_RUNS
from flows.job.events import Heard
from flows.job.intents import Nothing, Unsettled
from flows.routine.items import Gate, Item
from flows.texts import phrases
from flows.turn.turning import BOT, Turning


def nothing(t: Turning, intent: Nothing, prompt: Prompt) -> None:
    """Say why nothing was taken, or that it was not understood."""
    heard = t.event
    is_step = prompt.answer.kind == "state" and t.sender_is_driver()
    key = "not_done" if intent.why == "negated" and is_step else intent.why
    known = {"empty", "too_long", "kind_first", "rest", "not_done"}
    if _only_unclear(t) or not isinstance(heard, Heard) or key not in known:
        unclear(t, prompt)
        return
    if t.sender_is_driver():
        t.note("unclear", BOT, n=t.job.unclear + 1)
    t.answer_sender(key, length=f"{len(heard.text):,}")


def _only_unclear(t: Turning) -> bool:
    """Say no more than that it was not understood: every other time, and while the winch runs.

    So the same sentence never comes twice running.
    """
    return t.job.unclear % 2 == 1 or t.job.acts["winch"] in WINCH_RUNS


def unsettled(t: Turning, intent: Unsettled, prompt: Prompt) -> None:
    """Ask what a state was said of, never with the word alone that would settle the step.

    Every other time only, and not while the winch runs: then it counts as not understood.
    """
    if _only_unclear(t) or t.job.acts["rolling"] == "rolling" or not t.sender_is_driver():
        unclear(t, prompt)
        return
    t.note("unclear", BOT, n=t.job.unclear + 1)
    t.answer_sender(asked_back(intent, prompt.item))


def asked_back(intent: Unsettled, item: Item | None) -> str:
    """Return the question that is asked about a state named among other words."""
    named = intent.act or (item.acts[-1] if item is not None and item.acts else "")
    table = phrases()["asked_back"]
    return next((key for key, acts in table.items() if named in acts), "what_is_done")


SECOND = 2
"""The miss at which the emergencies are offered beside the choices."""


def unclear(t: Turning, prompt: Prompt) -> None:
    """Ask to say it again, then give the choices, then offer buttons or dispatch.

    While the winch runs each of these offers to stop it first. On the road nothing is offered.
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
    key = _unclear_key(prompt, n)
    t.answer_sender(key, **choice_slots(prompt))
    if n == SECOND and t.job.acts["danger"] != "seen" and prompt.pending not in ALARMS:
        t.answer_sender("or_emergency")
    # The ways on from a decision are told with what is decided.
    t.repeat = t.repeat or key == "unclear_choice"


def _unclear_key(prompt: Prompt, n: int) -> str:
    """Return the sentence for the n-th time that an answer was not understood.

    Whoever was not understood may mean the opposite: where a state is wanted, its word is never
    offered, and what cannot be told from the answer is said instead.
    """
    level = _level(n)
    if prompt.answer.kind == "state":
        return ("unclear_step", "unclear_state", "unclear_call")[level - 1]
    if isinstance(prompt.item, Gate) and not prompt.pending:
        return ("unclear_3", "unclear_choice")[n % 2]
    if prompt.pending in ALARMS:
        level = max(level, 2)
    if level > 1 and not prompt.answer.choices:
        level = 1 if n % 2 else 3
    return f"unclear_{level}"


def _unclear_to(t: Turning) -> None:
    """Tell somebody else that it was not understood, and then the words they may say."""
    who, often = t.job.unclear_to
    n = often + 1 if who == t.by else 1
    t.note("unclear", BOT, n=n, of=t.by)
    t.answer_sender(f"unclear_to_{_level(n)}")


def _level(n: int) -> int:
    """Return which text says it for the n-th time: 1, 2, 3, then 2 and 3 in turn."""
    return n if n < 3 else 2 + n % 2
