"""What a recorded conversation may assert: acts, facts, figures and safety, never wording.

act VARIABLE STATE        an act state
fact NAME VALUE           a fact, "none" when it is not known
next ITEM                 the item that is open
pending KIND              the exchange in hand, "none" without one
asks ACT                  the last message to the driver asks for this act
never ACT                 no message so far asked for this act
photos ITEM N           photos counted for an item
verdict WORD              the margin that stands, "none" without one
figure INPUT VALUE        a vehicle input of the margin
window STATE              none, open, ended, unpromised
window left N             whole minutes left at most
heard WHO PRIORITY        the newest message of the last step to WHO; "nothing" for none
open KIND                 something is open beside the question
turns N                   at most N messages from the driver so far
questions to margin N     at most N questions were asked before the margin
ended HOW                 closed or handed_off
"""

from typing import Any

from bot.commands.demo import DRIVER, Player, Step
from bot.record.rows import Reply
from flows.hearing.prompts import prompt_for
from flows.job.state import Job
from flows.routine.items import Question


class Watch:
    """Plays a conversation and keeps what the checks need."""

    def __init__(self, player: Player) -> None:
        self.player = player
        self.replies: list[Reply] = []
        self.step_replies: list[Reply] = []
        self.turns = 0

    def step(self, step: Step) -> None:
        if step.kind == "=":
            self.check(step)
            return
        if step.kind == ">" and step.chat == DRIVER:
            self.turns += 1
        self.step_replies = self.player.step(step)
        self.replies += self.step_replies

    @property
    def job(self) -> Job:
        newest = max(self.player.store.jobs(), default=0)
        return self.player.desk.job(newest)

    def check(self, step: Step) -> None:
        name, *rest = step.text.split()
        found, wanted = getattr(self, f"see_{name}")(*rest)
        assert found == wanted, f"line {step.line}: = {step.text}: found {found!r}"

    def see_act(self, variable: str, state: str) -> tuple[str, str]:
        return self.job.acts[variable], state

    def see_fact(self, name: str, value: str) -> tuple[str, str]:
        known = self.job.value(name)
        return "none" if known is None or name not in self.job.facts else str(known), value

    def see_next(self, item: str) -> tuple[str, str]:
        return getattr(prompt_for(self.job).item, "id", "nothing"), item

    def see_pending(self, kind: str) -> tuple[str, str]:
        return "none" if self.job.pending is None else self.job.pending.kind, kind

    def see_photos(self, item: str, count: str) -> tuple[int, int]:
        return self.job.photos.get(item, 0), int(count)

    def see_asks(self, act: str) -> tuple[bool, bool]:
        lines = [reply for reply in self.replies if reply.chat == DRIVER and _expects(reply)]
        return act in lines[-1].body.get("acts", ()), True

    def see_never(self, act: str) -> tuple[list[int], list[int]]:
        asked = [
            reply.seq
            for reply in self.replies
            if act in reply.body.get("acts", ()) and _expects(reply)
        ]
        return asked, []

    def see_verdict(self, word: str) -> tuple[str, str]:
        return self.job.verdict or "none", word

    def see_figure(self, name: str, value: str) -> tuple[str, str]:
        result: Any = {} if self.job.margin is None else self.job.margin.result
        return str(result["inputs"][f"vehicle_{name}"]), value

    def see_window(self, state: str, left: str | None = None) -> tuple[str, str]:
        window = self.job.window
        if left is not None:
            line = next(r for r in reversed(self.replies) if "window" in r.body)
            return str(line.body["window"]["left_min"]), left
        if window is None or window.state == "closed":
            return "none", state
        return ("unpromised" if window.hold_min is None else window.state), state

    def see_heard(self, who: str, priority: str) -> tuple[str, str]:
        lines = [r for r in self.step_replies if r.chat.startswith(who) and r.body["spoken"]]
        if priority in {"nothing", "reply"}:
            return (lines[-1].body["priority"] if lines else "nothing"), priority
        found = {reply.body["priority"] for reply in lines}
        return (priority if priority in found else str(sorted(found))), priority

    def see_open(self, kind: str) -> tuple[bool, bool]:
        return kind in {one["kind"] for one in self.step_replies[-1].body.get("open", ())}, True

    def see_turns(self, most: str) -> tuple[bool, bool]:
        return self.turns <= int(most), True

    def see_questions(self, _to: str, _margin: str, most: str) -> tuple[bool, bool]:
        """Few turns: questions are items that ask for a fact; steps and read-backs are not."""
        items = self.player.desk.job(1).book.routine.items
        asked: list[str] = []
        for reply in self.replies:
            if reply.body.get("figures"):
                break
            item = items.get(reply.body.get("item", ""))
            if isinstance(item, Question) and item.id not in asked:
                asked.append(item.id)
        return len(asked) <= int(most), True

    def see_ended(self, how: str) -> tuple[str, str]:
        return "open" if self.job.ended is None else self.job.ended.how, how


def _expects(reply: Reply) -> bool:
    return bool(reply.body["expects"]["kind"] != "nothing")
