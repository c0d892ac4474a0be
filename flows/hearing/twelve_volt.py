"""The 12-volt supply by its voltage: dead, weak or fine."""

from flows.hearing.answers import Answer
from flows.job.intents import Give, Intent, Nothing
from flows.measures import find_volts

DEAD_MV = 10_500
"""Under this no cell holds. From memory: the end of a lead-acid capacity test is 1.75 V a cell."""
FINE_MV = 12_400
"""From here a boost changes little. From memory: about three quarters full, at rest."""
MOST_MV = 16_000
"""A 12-volt system shows no more, charging."""


def level(millivolts: int) -> str:
    """Return what a resting voltage says of the supply.

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
    >>> level(9_800), level(11_600), level(12_400)
    ('dead', 'weak', 'fine')
    """
    if not 0 <= millivolts <= MOST_MV:
        raise ValueError(
            f"the voltage is {millivolts} mV: 0 to {MOST_MV} is allowed; read it anew"
        )
    if millivolts < DEAD_MV:
        return "dead"
    return "weak" if millivolts < FINE_MV else "fine"


def measured(found: tuple[Intent, ...], text: str, answer: Answer) -> tuple[Intent, ...]:
    """Return what was meant, a voltage too where the supply is asked for and nothing else was."""
    if answer.fact != "twelve_volt" or not isinstance(found[0], Nothing):
        return found
    volts = find_volts(text, bare=True)
    readings = {} if volts is None else {one.low for one in volts.readings if one.low == one.high}
    possible = sorted(one for one in readings if DEAD_MV // 10 <= one <= MOST_MV)
    return (Give("twelve_volt", level(possible[0])),) if len(possible) == 1 else found
