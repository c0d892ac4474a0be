"""A name that is read back, and another one said before the yes, which takes its place."""

import pytest

from flows.telling.render import render
from tests.flows.talker import TO_CLOSE, TO_NEUTRAL, Talker, open_item, told

HELD = ("new job breakdown", "mile 9", "smoke", "away", "called", "county fire")
"""To where the name of the service that released it is read back."""


def read_back(talker: Talker) -> str:
    pending = talker.job.pending
    assert pending is not None
    assert pending.kind == "name"
    return str(pending.value)


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("harbor rescue", "harbor rescue"),
        ("Harbor Fire", "Harbor Fire"),
        ("no, it was harbor fire", "harbor fire"),
        ("no harbor rescue", "harbor rescue"),
        ("actually it was Harbor Rescue", "Harbor Rescue"),
        ("released by harbor rescue", "harbor rescue"),
        ("not county, it was harbor rescue", "harbor rescue"),
        ("sorry, it was harbor rescue, not county fire", "harbor rescue"),
        ("yes, harbor rescue", "harbor rescue"),
    ],
)
def test_another_name_takes_the_place_of_the_one_read_back(said: str, name: str) -> None:
    talker = told(*HELD)
    (asked,) = talker.say(said)
    assert read_back(talker) == name
    assert name in render(asked).spoken
    assert talker.job.value("released_by") is None
    talker.say("yes")
    assert talker.job.value("released_by") == name
    assert open_item(talker) == "danger.released"


@pytest.mark.parametrize(
    "said",
    ["that is right", "yes that's right", "sure", "nope wrong", "status",
     "they released it", "who", "yes they are the ones"],
)  # fmt: skip
def test_what_names_nobody_else_leaves_the_name(said: str) -> None:
    talker = told(*HELD)
    talker.say(said)
    assert read_back(talker) == "county fire"


def test_who_received_it_is_replaced_too() -> None:
    talker = told(*TO_NEUTRAL, "neutral now", *TO_CLOSE[: TO_CLOSE.index("county yard")])
    talker.say("jane from the yard", "no, bob from the yard")
    assert read_back(talker) == "bob from the yard"
    talker.say("yes")
    assert talker.job.value("received_by") == "bob from the yard"
