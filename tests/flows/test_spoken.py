"""Every explored message keeps the rules of level S that a rendered message can show."""

import re
from collections.abc import Iterable, Iterator

import pytest

from flows.explore.moves import Move, answers, disturbances, event_of
from flows.explore.where_to_disturb import chosen
from flows.telling.render import Rendered, render
from flows.telling.reply import Reply
from flows.turn.advance import advance
from tests.explore.explored import straight
from tests.flows.lint import ON_THE_ROAD

# Spoken length: 16 tokens; 20 for resume, alarms, the echo of several facts and the margin.
LONGER = {"says.resume", "says.restart", "says.echo", "says.status", "items.margin.figure"}
SAID_OF_MANY = {"claim", "retract", "correct"}
"""Kinds of moves that are said of every act or fact there is, and answered much alike."""
FIRST = {"stop": "Stop.", "check": "Check.", "note": "Note."}


EACH = 3


def some(moves: Iterable[Move], turn: int, each: int) -> Iterator[Move]:
    """Yield moves, of those that are said of many things one in `each`, another one every turn."""
    for number, move in enumerate(moves):
        if move.kind not in SAID_OF_MANY or (number + turn) % each == 0:
            yield move


@pytest.fixture(scope="module", params=[30, pytest.param(1, marks=pytest.mark.slow)])
def messages(request: pytest.FixtureRequest) -> dict[tuple[str, str], tuple[Reply, Rendered]]:
    """Every distinct message of a sample of straight states, and of disturbances in each.

    Of the acts and facts that are claimed or corrected, each is tried in every third of those.
    In the slow run, every one is, and in every straight state.
    """
    graph = straight()
    # Disturbances are said alike in like states: of each open item one state speaks for them.
    disturbed = {key[0]: key for key in chosen(graph, "places")}  # type: ignore[index]
    turns = {key: turn for turn, key in enumerate(disturbed.values())}
    each = 1 if request.param == 1 else EACH
    found: dict[tuple[str, str], tuple[Reply, Rendered]] = {}
    for number, (key, node) in enumerate(graph.nodes.items()):
        if node.state.ended is not None or (number % request.param and key not in turns):
            continue
        more = some(disturbances(node.state), turns[key], each) if key in turns else ()
        for move in (*answers(node.state), *more):
            for reply in advance(node.state, event_of(move, node.state)).replies:
                text = render(reply)
                found.setdefault((reply.key, text.spoken), (reply, text))
    return found


def test_there_are_many(messages: dict[tuple[str, str], tuple[Reply, Rendered]]) -> None:
    assert len(messages) > 150


def test_spoken_is_short(messages: dict[tuple[str, str], tuple[Reply, Rendered]]) -> None:
    """Spoken length: each word, digit and unit is a token."""
    long = {
        text.spoken
        for reply, text in messages.values()
        if len(text.spoken.split())
        > (20 if reply.key in LONGER or reply.priority != "reply" else 16)
    }
    assert long == set()


def test_one_action_and_few_choices(
    messages: dict[tuple[str, str], tuple[Reply, Rendered]],
) -> None:
    """The rules one action and choices."""
    for reply, text in messages.values():
        assert "and then" not in text.spoken, text.spoken
        assert ";" not in text.spoken, text.spoken
        assert len(reply.answer.choices) <= 5, text.spoken


def test_priority_is_the_first_word(
    messages: dict[tuple[str, str], tuple[Reply, Rendered]],
) -> None:
    """Priority word: Stop, Check or Note comes first, and only with its priority."""
    for reply, text in messages.values():
        if reply.priority != "reply":
            assert text.spoken.startswith(FIRST[reply.priority]), text.spoken
        else:
            assert not text.spoken.startswith(tuple(FIRST.values())), text.spoken


def test_spoken_is_for_the_ear(messages: dict[tuple[str, str], tuple[Reply, Rendered]]) -> None:
    """No figures, slashes, marks or abbreviations, and no promise: never "safe"."""
    marked = {
        text.spoken
        for reply, text in messages.values()
        # Going back to a note says the driver's own words again.
        if reply.key != "says.back_fact" and re.search(r"[0-9/#*_{}]", text.spoken)
    }
    assert marked == set()
    promising = r"\b(lbs?|ft|in\.|safe)\b"
    assert {t.spoken for _, t in messages.values() if re.search(promising, t.spoken)} == set()


def test_alarms_say_how_to_answer(
    messages: dict[tuple[str, str], tuple[Reply, Rendered]],
) -> None:
    """Alarm: a message that wants an answer at once names it."""
    for reply, text in messages.values():
        if reply.priority == "stop" and reply.key not in ON_THE_ROAD:
            asks = re.search(r"\b(Say|say|Call|Hand off\?|Yes or no|Or say)\b|\?", text.spoken)
            assert asks, text.spoken
