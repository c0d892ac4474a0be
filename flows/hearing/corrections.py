"""Second readings of a message: by the job's state, or by the unit its question asks for.

`understand` reads words alone. These look again: a time that moves the start of neutral, an event
that ends neutral by the card, a voltage or a distance where the question asks for one.
"""

from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise

from flows.hearing.amounts import take_time
from flows.hearing.answers import NOTHING, Answer
from flows.hearing.lexicon import talk
from flows.hearing.matching import MARKS, Tokens
from flows.job.intents import Did, Give, Intent, Measured, Nothing, When
from flows.job.state import Job
from flows.measures import find_length, find_volts
from flows.measures.tokens import tokens
from flows.routine.neutral_ways import way_of

Meant = tuple[Intent, ...]


# Neutral: ended early, and its time said again

STEM = 4
"""Letters that two forms of a word share: "opened" and "open", "unclipped" and "unclip"."""


def ender_said(job: Job, text: str) -> bool:
    """Say whether a text reports an event that ends neutral early, by the vehicle's card.

    The last two words of the card's phrase count, the thing and its change, in either order and
    any form. Never in a clause with a negation or an intention, nor in a question.
    """
    if not _in_neutral(job) or text.rstrip().endswith("?"):
        return False
    way = way_of(job)
    return way is not None and _names_one(text, way.cancelled_by)


@lru_cache(maxsize=4096)
def _names_one(text: str, enders: tuple[str, ...]) -> bool:
    doubts = talk("negators") | talk("intents")
    return any(
        _tells(clause, tokens(ender)[-2:])
        for clause in _clauses(tokens(text))
        if not any((token,) in doubts for token in clause)
        for ender in enders
    )


def _in_neutral(job: Job) -> bool:
    return job.acts["gear"] == "neutral"


def _tells(clause: Tokens, words: Tokens) -> bool:
    return all(any(said[:STEM] == word[:STEM] for said in clause) for word in words)


def _clauses(said: Tokens) -> Iterator[Tokens]:
    marks = [-1, *(index for index, token in enumerate(said) if token in MARKS), len(said)]
    for before, after in pairwise(marks):
        yield said[before + 1 : after]


def retimed(found: Meant, text: str, answer: Answer, job: Job) -> Meant:
    """Return the intents; in neutral, a past time said alone is when neutral began.

    "No, make that five minutes ago." Where the question asks for a time, the time answers it
    instead. Of two times the earlier counts, so a hold never ends later for it.
    """
    tells_else = any(not isinstance(one, Nothing | When) for one in found)
    if tells_else or answer.takes_time or not _in_neutral(job) or "?" in text:
        return found
    when = _past_time_alone(text)
    return found if when is None else (Did("neutral_selected"), when)


OF_CLOCK = frozenset({"at", "since"})
"""Before a time of day: "no, at 13:52"."""


def _past_time_alone(text: str) -> When | None:
    """Return the past time in a text that holds nothing else but small words."""
    about = talk("retimes") | talk("fillers")
    said = tokens(text)
    left = [token for token in said if token not in MARKS and (token,) not in about]
    is_clock = not OF_CLOCK.isdisjoint(said) or any(":" in token for token in said)
    when = take_time(left, NOTHING, timed=is_clock)
    is_alone = OF_CLOCK.union((".",)).issuperset(left)
    return when if is_alone and when is not None and not when.is_to_come else None


# A number in the unit that the question asks for

DEAD_MV = 10_500
"""Below this no cell holds. From memory: the end of a lead-acid capacity test is 1.75 V a cell."""
FINE_MV = 12_400
"""From here a boost changes little. From memory: about three quarters full, at rest."""
MOST_MV = 16_000
"""A 12-volt system shows no more, even charging."""
LEAST_MV = 1_050
"""A lower reading is another unit or a slip."""


def supply_level(millivolts: int) -> str:
    """Return the state of the 12-volt supply by its resting voltage.

    Parameters
    ----------
    millivolts
        Between the posts, at rest [mV], 0 to 16,000.

    Raises
    ------
    ValueError
        Outside that range.

    Examples
    --------
    >>> supply_level(9_800), supply_level(11_600), supply_level(12_400)
    ('dead', 'weak', 'fine')
    """
    if not 0 <= millivolts <= MOST_MV:
        raise ValueError(
            f"the voltage is {millivolts} mV: 0 to {MOST_MV} is allowed; measure again"
        )
    if millivolts < DEAD_MV:
        return "dead"
    return "weak" if millivolts < FINE_MV else "fine"


def with_voltage(found: Meant, text: str, answer: Answer) -> Meant:
    """Return the intents; a voltage where the supply is asked for and nothing else was said."""
    if answer.fact != "twelve_volt" or not isinstance(found[0], Nothing):
        return found
    volts = find_volts(text, bare=True)
    readings = () if volts is None else volts.readings
    exact = {one.low for one in readings if one.low == one.high}
    possible = [one for one in exact if LEAST_MV <= one <= MOST_MV]
    return (Give("twelve_volt", supply_level(possible[0])),) if len(possible) == 1 else found


MOST_FT = 500
"""The longest pull that is understood [ft]; no card has a longer rope."""
_IN64_PER_FT = 64 * 12


def with_distance(found: Meant, text: str, answer: Answer) -> Meant:
    """Return the intents; a distance where it is asked for and nothing else was said.

    Part of a foot counts as a whole one, and of several readings the longest counts.
    """
    if not answer.takes_feet or not isinstance(found[0], Nothing):
        return found
    said = find_length(text, bare=True, unit="ft")
    readings = () if said is None else said.readings
    longest = max((-(-one.high // _IN64_PER_FT) for one in readings), default=0)
    is_less = any(one.low < 0 for one in readings)
    return (Measured(answer.fact, longest),) if 1 <= longest <= MOST_FT and not is_less else found
