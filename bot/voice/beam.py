"""The likeliest texts of a sound, free or by a grammar, from a beam of a few at a time."""

from dataclasses import dataclass

import numpy as np

from bot.voice.automaton import Automaton, State
from bot.voice.model import BEGIN, END, RATE, Floats, Memory, Model

WIDTH = 6
PIECES_A_SECOND = 6.5
"""The most pieces of words in a second of speech."""
_ROOM = 6
"""Further pieces under a grammar, which may ask for long words."""


@dataclass(frozen=True, slots=True)
class Text:
    """A text, and the log-probability of all its pieces."""

    text: str
    score: float
    tokens: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class _Way:
    score: float
    tokens: tuple[int, ...]
    state: State | None
    row: int


def listen(
    model: Model,
    listened: Floats,
    samples: int,
    automaton: Automaton | None = None,
    width: int = WIDTH,
) -> list[Text]:
    """Return the likeliest texts of a sound, best first.

    Parameters
    ----------
    listened
        The sound, from `Model.encode`.
    samples
        Its length, at 16 kHz.
    automaton
        The grammar; None for free text.
    width
        How many texts are followed at a time.
    """
    memory: Memory | None = None
    odds, memory = model.step([BEGIN], listened, None)
    ways = [_Way(0.0, (), automaton.start if automaton else None, 0)]
    done: list[_Way] = []
    for _ in range(_most_pieces(samples, automaton)):
        ways, ended = _onward(ways, odds, automaton, width)
        done += ended
        if not ways or _settled(done, ways, width):
            break
        odds, memory = model.step(
            [way.tokens[-1] for way in ways], listened, memory.of([way.row for way in ways])
        )
    done.sort(key=lambda way: -way.score)
    return [
        Text(model.vocabulary.read(way.tokens), way.score, way.tokens) for way in done[: 3 * width]
    ]


def _most_pieces(samples: int, automaton: Automaton | None) -> int:
    most = max(4, int(samples / RATE * PIECES_A_SECOND) + 2)
    return most if automaton is None else most + _ROOM


def _settled(done: list[_Way], ways: list[_Way], width: int) -> bool:
    """Say whether no text under way can still be among the best."""
    best = sorted((way.score for way in done), reverse=True)
    return len(best) >= width and best[width - 1] > ways[0].score


def _onward(
    ways: list[_Way], odds: Floats, automaton: Automaton | None, width: int
) -> tuple[list[_Way], list[_Way]]:
    """Return the best ways one piece longer, and complete ways that rank above the last."""
    found: list[_Way] = []
    for row, way in enumerate(ways):
        found += _steps(way, row, odds[row], automaton, width)
    found.sort(key=lambda way: -way.score)
    onward: list[_Way] = []
    ended: list[_Way] = []
    for way in found:
        if way.tokens[-1] == END:
            ended.append(_Way(way.score, way.tokens[:-1], way.state, way.row))
            continue
        onward.append(way)
        if len(onward) == width:
            break
    return onward, ended


def _steps(
    way: _Way, row: int, odds: Floats, automaton: Automaton | None, width: int
) -> list[_Way]:
    if automaton is None or way.state is None:
        best = np.argpartition(-odds, width + 1)[: width + 1].tolist()
        return [_Way(way.score + float(odds[one]), (*way.tokens, one), None, row) for one in best]
    after = automaton.next(way.state)
    tokens = np.fromiter(after, np.int64, len(after))
    if len(tokens) > width + 1:
        tokens = tokens[np.argpartition(-odds[tokens], width)[: width + 1]]
    found = [
        _Way(way.score + float(odds[one]), (*way.tokens, one), after[one], row)
        for one in tokens.tolist()
    ]
    if automaton.may_end(way.state):
        found.append(_Way(way.score + float(odds[END]), (*way.tokens, END), way.state, row))
    return found
