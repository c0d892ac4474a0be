"""Typed, tapped or by voice: the same answer leaves the same facts, acts and open question."""

from collections.abc import Callable

import pytest

from flows.hearing.prompts import prompt_for
from flows.job.events import Heard, Media, Spoken
from flows.job.state import Job
from tests.flows.talker import DRIVER, PLACE, Talker, demo_library, open_item

NOTE = Media("voice", "0" * 64, 9, "audio/ogg")
PHOTO = Media("photo", "1" * 64, 9, "image/jpeg")
OPENING = ("new job breakdown", PLACE)
Say = Callable[[Talker, str], None]


def typed(talker: Talker, text: str) -> None:
    talker.say(text)


def tapped(talker: Talker, text: str) -> None:
    """Tap the choice that is called so; what no button offers is typed."""
    choices = {label: one for one, label in prompt_for(talker.job).answer.choices}
    if text in choices:
        talker.tap(choices[text])
    else:
        talker.say(text)


def spoken(talker: Talker, text: str) -> None:
    """Say it in a voice note that was heard for sure; what wants a read-back gets its yes."""
    under = prompt_for(talker.job).key
    heard = Spoken(text, 99, "test", "1", under)
    talker.wait(5)
    talker.happens(Heard(DRIVER, talker.at, media=NOTE, spoken=heard))
    if talker.job.pending is not None and talker.job.pending.kind == "heard":
        talker.say("yes")


WAY = (
    "nothing seen", "behind", "secured", "warned", "chocked", "too dark", "level", "nose",
    "combustion", "Dunlin", "Heron", "yes", "all roll", "understood", "hooked", "away", "tight",
)  # fmt: skip


def known(job: Job) -> tuple[object, ...]:
    facts = {name: fact.value for name, fact in job.facts.items()}
    return facts, job.acts, job.done, job.verdict, job.pull_word


def after(say: Say, *way: str) -> Talker:
    talker = Talker(demo_library())
    talker.say(*OPENING)
    for text in way:
        say(talker, text)
    return talker


@pytest.mark.parametrize("say", [tapped, spoken])
def test_a_way_ends_the_same_however_it_is_answered(say: Say) -> None:
    plain, other = after(typed, *WAY), after(say, *WAY)
    assert open_item(other) == open_item(plain)
    assert known(other.job) == known(plain.job)


@pytest.mark.parametrize("say", [typed, tapped, spoken])
def test_how_it_was_given_is_in_the_record(say: Say) -> None:
    how = after(say, *WAY[:7]).job.facts["slope"].how
    assert how == {typed: "typed", tapped: "tapped", spoken: "voice"}[say]


def test_photos_settle_their_set_as_a_word_does() -> None:
    said = after(typed, *WAY[:5], "done")
    sent = after(typed, *WAY[:5])
    for _ in range(11):
        sent.wait(1)
        sent.happens(Heard(DRIVER, sent.at, media=PHOTO))
    assert open_item(sent) == "scene.slope"
    assert open_item(said) in {"scene.photos", "scene.slope"}
