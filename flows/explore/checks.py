"""What must hold at every transition: the rules derived afresh, the promises of a turn."""

from collections.abc import Callable, Iterator

from flows.explore.moves import Move
from flows.hearing.prompts import Prompt, prompt_for
from flows.job.acts import PROTECTIVE, WHEELS
from flows.job.entries import Entry
from flows.job.events import Event, Heard
from flows.job.folding import fold
from flows.job.state import Envelope, Job
from flows.routine.items import Gate, Wait
from flows.rules.safety import LETS_ROLL, STRAPS_OFF, broken
from flows.telling.reply import Reply
from flows.turn.as_rules_see import turned
from flows.turn.turning import Turn, Turning

MOST_CHOICES = 5
UNDERSTOOD = frozenset({"repeat", "back", "hold", "problem", "status", "stop", "smoke"})
IN_DANGER = PROTECTIVE | {"danger_released", "winch_stops"}
Transition = tuple[Job, Move, Event, Turn]


def faults(
    before: Job, move: Move, event: Event, turn: Turn, *, thorough: bool = True
) -> list[str]:
    """Return everything that is wrong with one transition; empty when all holds.

    `thorough` judges the turn by the rules once more, whatever the guard made of it, and
    folds its entries again.
    """
    checks = _CHECKS + _AGAIN if thorough else _CHECKS
    found = (why for check in checks for why in check(before, move, event, turn))
    return list(dict.fromkeys(found))


def stuck(job: Job) -> Iterator[str]:
    """Yield why a job cannot go on: unless it ended, is paused or has no driver, it asks."""
    if job.ended is not None or job.paused is not None or job.at_vehicle is None:
        return
    prompt = prompt_for(job)
    if prompt.item is None and not prompt.pending:
        yield "nothing is open and the job has not ended"
    elif _takes_no_answer(prompt):
        yield f"{prompt.key} is open and takes no answer"
    elif not prompt.is_asked_by(job.asked):
        yield f"{prompt.key} is open and was not asked"


def _takes_no_answer(prompt: Prompt) -> bool:
    return prompt.answer.kind == "nothing" and not isinstance(prompt.item, Gate | Wait)


def _guard_is_idle(_b: Job, _m: Move, _e: Event, turn: Turn) -> Iterator[str]:
    """The routine never leans on the guard: a refusal is a fault of the routine."""
    for entry, _ in turn.entries:
        if entry.kind == "refused":
            yield f"the guard refused the turn: {'; '.join(entry.body['rules'])}"


def _rules_hold(before: Job, _m: Move, event: Event, turn: Turn) -> Iterator[str]:
    again = Turning(before, event)
    again.job, again.entries, again.replies = turn.job, list(turn.entries), list(turn.replies)
    yield from broken(turned(again))


def _questions(turn: Turn) -> list[Reply]:
    return [r for r in turn.replies if r.answer.kind != "nothing" and r.to == "driver"]


def _asked_acts(turn: Turn) -> Iterator[tuple[Reply, str]]:
    for reply in _questions(turn):
        item = reply.job.book.routine.items.get(reply.item)
        if item is not None and reply.key.startswith("items."):
            yield from ((reply, act) for act in item.acts)


def _only_protective_in_danger(_b: Job, _m: Move, _e: Event, turn: Turn) -> Iterator[str]:
    """S1: while danger stands, only people, help, the release and stopping are asked for."""
    if turn.job.acts["danger"] == "seen":
        yield from (
            f"S1: {act} is asked for while danger stands"
            for _, act in _asked_acts(turn)
            if act not in IN_DANGER
        )


def _nothing_rolls_unheld(_b: Job, _m: Move, _e: Event, turn: Turn) -> Iterator[str]:
    """S2: what lets wheels turn is asked for only while chocks, line or deck hold it."""
    for _, act in _asked_acts(turn):
        if act in LETS_ROLL | STRAPS_OFF and not _is_held_without(turn.job, act):
            yield f"S2: {act} is asked for and nothing holds it"


def _is_held_without(job: Job, act: str) -> bool:
    """Say whether something holds the vehicle once an act is done."""
    if _is_strapped_on_deck(job) and not act.startswith("unstrapped_"):
        return True
    if job.acts["chocks"] == "in" and act != "chocks_out":
        return True
    if _is_strapped_on_lift(job):
        return act != "set_down"
    tied = all(job.acts[part] == "on" for part in ("hook", "line", "tension"))
    return tied and job.value("slope") in {"level", "downhill"}


def _is_strapped_on_deck(job: Job) -> bool:
    acts = job.acts
    return acts["deck"] == "deck" and all(acts[f"strap.{wheel}"] == "on" for wheel in WHEELS)


def _is_strapped_on_lift(job: Job) -> bool:
    """Say whether one end is on a lift, the other on dollies, and both are strapped."""
    acts = job.acts
    strapped = acts["lift_straps"] == acts["dolly_straps"] == "on"
    return strapped and acts["lifted"] in {"front", "rear"} and acts["dollies"] == "under"


def _quiet_while_rolling(_b: Job, _m: Move, _e: Event, turn: Turn) -> Iterator[str]:
    if turn.job.acts["rolling"] == "rolling" and _questions(turn):
        yield "S12: a question while rolling"


def _resumes(before: Job, move: Move, event: Event, turn: Turn) -> Iterator[str]:
    """S13: after an interruption it says last and next, and asks again."""
    if not _was_interrupted(before, move, event, turn) or _asks_nobody(turn.job):
        return
    if not any(reply.key in {"says.resume", "says.restart"} for reply in turn.replies):
        yield "S13: nothing was said of last and next after an interruption"
    # A section alone may have nothing left; in the whole, a job where nothing is open is stuck.
    if not _questions(turn) and turn.job.next_item is not None:
        yield "S13: nothing was asked again after an interruption"


def _was_interrupted(before: Job, move: Move, event: Event, turn: Turn) -> bool:
    """Say whether a pause ends, the vehicle is handed over, or the bot was away."""
    if move.told == "restarted" or move.reboots:
        return True
    if before.paused is not None and turn.job.paused is None and _says(event, "resume"):
        return True
    return any(entry.kind == "handover" for entry, _ in turn.entries)


def _asks_nobody(job: Job) -> bool:
    """Say whether a job asks nothing: it ended, is paused, has no driver, or the truck rolls."""
    return job.acts["rolling"] == "rolling" or _is_quiet(job)


def _is_quiet(job: Job) -> bool:
    return job.ended is not None or job.paused is not None or job.at_vehicle is None


def _says(event: Event, text: str) -> bool:
    return isinstance(event, Heard) and event.text == text


def _replays(before: Job, _m: Move, event: Event, turn: Turn) -> Iterator[str]:
    """The job after a turn is the fold of its entries."""
    job = before
    for entry, by in turn.entries:
        job = fold(job, Entry(entry.kind, entry.body), Envelope(event.at, by, job.seq))
    if job != turn.job:
        yield "replay: the fold of the entries is another job than the turn's"


def _few_choices(_b: Job, _m: Move, _e: Event, turn: Turn) -> Iterator[str]:
    for reply in turn.replies:
        if len(reply.answer.choices) > MOST_CHOICES:
            yield f"choices: {reply.key} has {len(reply.answer.choices)} choices"


def _understands(before: Job, move: Move, _e: Event, turn: Turn) -> Iterator[str]:
    """The words for any time are understood in every state."""
    if before.ended is None and move.text in UNDERSTOOD:
        for reply in turn.replies:
            if reply.key.startswith("says.unclear"):
                yield f"words for any time: {move.text!r} was not understood"


def _others_settle_nothing(before: Job, move: Move, _e: Event, turn: Turn) -> Iterator[str]:
    """Whoever is not the driver at the vehicle settles no step and decides no act.

    That something does not stand any more is news from anybody: it only puts it in doubt.
    """
    if move.kind == "others" and move.text not in {"smoke", "take over"}:
        acts = {entry.kind for entry, _ in turn.entries} & {"act", "done"}
        if acts:
            yield f"{move.speaker} settled a step: {', '.join(sorted(acts))}"
    overridden = any(entry.kind == "overridden" for entry, _ in turn.entries)
    if overridden and move.speaker != "owner":
        yield f"S9: a {move.speaker} overrode the margin"


def _stale_does_nothing(_b: Job, move: Move, _e: Event, turn: Turn) -> Iterator[str]:
    if move.generation == -1 and turn.entries:
        yield f"an obsolete {move.timer} timer changed something"


def _answers_everything(_b: Job, _m: Move, event: Event, turn: Turn) -> Iterator[str]:
    """Nobody who says something is met with silence, as long as there is anything to go on with.

    A section alone has nothing behind it; that the whole always has is `stuck`'s to say.
    """
    if not isinstance(event, Heard) or prompt_for(turn.job).item is None:
        return
    at_vehicle = {_b.at_vehicle, turn.job.at_vehicle}
    theirs = {"dispatcher": "dispatchers", "owner": "owners"}.get(event.who.role, "sender")
    heard_by = {"sender", theirs} | ({"driver"} if event.who.id in at_vehicle else set())
    if not any(reply.to in heard_by for reply in turn.replies):
        yield f"{event.who.role} is met with silence"


_Check = Callable[[Job, Move, Event, Turn], Iterator[str]]
_AGAIN: tuple[_Check, ...] = (_rules_hold, _replays)
_CHECKS: tuple[_Check, ...] = (
    _guard_is_idle,
    _only_protective_in_danger,
    _nothing_rolls_unheld,
    _quiet_while_rolling,
    _resumes,
    _few_choices,
    _understands,
    _answers_everything,
    _others_settle_nothing,
    _stale_does_nothing,
)
