"""What a message asks for by its words alone, whatever its item says that it asks for.

Read off the sentence as it is spoken: the orders that a driver would act on, each with the act it
comes to. It shares nothing with the routine; a sentence without an item is read like any other.
"""

import re
from collections.abc import Iterator

from flows.job.state import Job
from flows.rules.safety import WINCHED, refusal
from flows.telling.render import render
from flows.telling.reply import Reply
from flows.turn.as_rules_see import world
from flows.turn.turning import Turn

ORDERS = (
    (r"(^|[.] )(hook (it|the line|at)|put the hook)\b", "hooked"),
    (r"\b(keep going|get it on the deck|winch it up|pull it up)\b", "winch_moves"),
    (r"\b(let it down|winch it down|get it off the deck)\b", "pays_out"),
    (r"\b(turn|move) (the|your) truck\b", "truck_moves"),
    (r"(^|[.] )(take|pull) (the |both |all )?chocks (out|off)\b", "chocks_out"),
    (r"(^|[.] )(select|shift to|put it in) neutral\b", "neutral_selected"),
    (r"(^|[.] )(slack|slacken|let off) the line\b", "line_slackened"),
    (r"(^|[.] )(unhook|take the line off)\b", "unhooked"),
    (r"(^|[.] )take off all four straps\b", "unstrapped_left_front"),
    (r"(^|[.] )(wake it|switch the pack on)\b", "woken"),
)
_ORDERS = tuple((re.compile(pattern), act) for pattern, act in ORDERS)


def acts_in(spoken: str) -> Iterator[str]:
    """Yield the acts that a sentence orders.

    Examples
    --------
    >>> list(acts_in("It would roll at the truck. Turn the truck. Say truck moved, or hand off."))
    ['truck_moves']
    >>> list(acts_in("Keep hooks off the battery case."))
    []
    """
    return (act for order, act in _ORDERS if order.search(spoken.lower()))


def misspoken(turn: Turn) -> Iterator[str]:
    """Yield each order to the driver, by its words, that the rules refuse."""
    for reply in turn.replies:
        if reply.to == "driver":
            for act in acts_in(render(reply).spoken):
                why = _refused(reply, turn.job, act)
                if why is not None:
                    yield f"words: {reply.key} asks for {act}: {why}"


def _refused(reply: Reply, job: Job, act: str) -> str | None:
    """Return why the rules refuse an act, unless the message's own item answers for its place."""
    item = job.book.routine.items.get(reply.item)
    own = item is not None and act in item.acts and reply.key.startswith("items.")
    goes_on = act in WINCHED and world(job).pull_stands
    return None if own or goes_on else refusal(world(job), act)
