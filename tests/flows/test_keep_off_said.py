"""Every place that tears is spoken before anything is hooked, three at a time."""

from dataclasses import replace

import pytest

from flows.telling.render import render
from tests.flows.talker import (
    TO_CLOSE,
    TO_MARGIN,
    TO_NEUTRAL,
    Talker,
    demo_library,
    open_item,
    told,
)

TO_KEEP_OFF = (*TO_MARGIN, "yes", "not in", "all roll")


def with_places(count: int) -> tuple[Talker, tuple[str, ...]]:
    library = demo_library()
    places = tuple(f"place {letter}" for letter in "abcdefgh"[:count])
    harrow = library.vehicles["harrow"].model_copy(update={"keep_off": places})
    talker = Talker(replace(library, vehicles={**library.vehicles, "harrow": harrow}))
    return talker, places


@pytest.mark.parametrize("count", [1, 3, 4, 6, 7, 8])
@pytest.mark.parametrize("asks", [(), ("repeat",), ("what do i keep off",)])
def test_all_places_are_spoken_in_threes(count: int, asks: tuple[str, ...]) -> None:
    talker, places = with_places(count)
    said = talker.say(*TO_KEEP_OFF)
    for words in asks:
        said = talker.say(words)
    spoken = [render(one).spoken for one in said if "Keep hooks off" in render(one).spoken]
    assert [sum(place in one for place in places) for one in spoken][: (count + 2) // 3] == [
        min(3, count - at) for at in range(0, count, 3)
    ]
    for place in places:
        assert any(place in one for one in spoken), place
    assert talker.replies[-1].item == "attach.keep_off", "and still wants its answer"


def test_three_are_one_message() -> None:
    talker = told(*TO_KEEP_OFF)
    spoken = [render(one).spoken for one in talker.replies if "hooks off" in render(one).spoken]
    assert len(spoken) == 1


def test_at_the_drop_they_are_all_spoken_again() -> None:
    talker, places = with_places(7)
    talker.say(
        *TO_NEUTRAL, "neutral now", *TO_CLOSE[:13], "go", "parked", "at the drop", "secured"
    )
    said = [render(one).spoken for one in talker.say("level", "on")]
    assert open_item(talker) == "drop.keep_off"
    assert [sum(place in one for place in places) for one in said if "Keep hooks" in one] == [
        3, 3, 1,
    ]  # fmt: skip
