"""The height of a ceiling, or of anything the truck has to go under, in anybody's words."""

from functools import lru_cache
from itertools import pairwise

from flows.hearing.amounts import has_any
from flows.hearing.lexicon import talk
from flows.hearing.matching import MARKS, Tokens
from flows.measures import find_length
from flows.measures.tokens import tokens

LEAST_IN, MOST_IN = 48, 240
"""Ours: lower is no ceiling for a truck ("ground clearance"), higher is none that matters [in]."""


@lru_cache(maxsize=1024)
def ceiling_said(text: str) -> tuple[int | None, bool]:
    """Return the height of a ceiling in a text [in], and whether no other clause is in the text.

    Of several readings the lowest counts, in whole inches rounded down. None without a ceiling and
    its height in one clause, with a negation in it, or in a question.

    Examples
    --------
    >>> ceiling_said("the ceiling is seven feet"), ceiling_said("smoke, clearance 6 ft 8 in")
    ((84, True), (80, False))
    >>> ceiling_said("is the ceiling 7 feet?"), ceiling_said("ground clearance 6 inches")
    ((None, True), (None, True))
    """
    every = _clauses(tokens(text))
    heights = [] if "?" in text else [_height(one) for one in every]
    known = [one for one in heights if one is not None]
    return min(known, default=None), len(every) == 1


def _clauses(said: Tokens) -> list[Tokens]:
    marks = [-1, *(at for at, token in enumerate(said) if token in MARKS), len(said)]
    cut = (said[before + 1 : after] for before, after in pairwise(marks))
    return [one for one in cut if one]


def _height(clause: Tokens) -> int | None:
    """Return the height in a clause that names a ceiling [in]; None without one."""
    is_denied = any((token,) in talk("negators") for token in clause)
    if is_denied or not has_any("ceilings", list(clause)):
        return None
    found = find_length(clause)
    lowest = min((one.low // 64 for one in found.readings), default=0) if found else 0
    return lowest if LEAST_IN <= lowest <= MOST_IN else None
