"""Conversations to crash in: short but complete, and long."""

from bot.commands.demo import conversation, parse
from tests.bot.scripted import DISPATCHER, TO_CLOSE, TO_NEUTRAL, Script, script_of


def short() -> Script:
    """Return a job from opening to hand-off.

    Two chats, a take-over, a read-back, a window that opens, warns and ends while time passes,
    an alarm that goes on to dispatch, a hold, a skip's place, a kept position, an end.
    """
    script = Script().say("new job breakdown, mile 4", chat=DISPATCHER)
    script.say("job 1", "none", "it weighs 4600 lb", "yes", "Harrow", "neutral at 06:00")
    script.wait(16 * 60).send(place={"lat": 39.7, "lon": -104.9}).wait(20 * 60, chat=DISPATCHER)
    return script.say("chocked", "hold", "status", "resume", "hand off", "county tow desk")


def long() -> Script:
    """Return a whole carry with a hold, a read-back, warnings and a closed job."""
    script = Script().say(*TO_NEUTRAL[:5], "it weighs 4600 lb", "yes", *TO_NEUTRAL[5:])
    script.say("neutral now", "hold").wait(60).say("resume", "confirmed").wait(15 * 60)
    return script.say("noted", *TO_CLOSE[1:])


def recorded(name: str) -> Script:
    """Return a recorded conversation."""
    return script_of(parse(conversation(name)))
