"""What ends neutral early, by the vehicle's card, heard in what a driver says."""

from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise

from flows.hearing.lexicon import talk
from flows.hearing.matching import MARKS, Tokens
from flows.job.state import Job
from flows.measures.tokens import tokens
from flows.routine.neutral_ways import way_of

STEM = 4
"""Letters that two forms of a word share: "opened" and "open", "unclipped" and "unclip"."""


def ender_said(job: Job, text: str) -> bool:
    """Say whether a text tells that something came which ends neutral early.

    Of what the card names the last two words count, the thing and what became of it, in either
    order and any form. Never under a negation, as an intention, or as a question.
    """
    if job.acts["gear"] != "neutral" or text.rstrip().endswith("?"):
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


def _tells(clause: Tokens, words: Tokens) -> bool:
    return all(any(said[:STEM] == word[:STEM] for said in clause) for word in words)


def _clauses(said: Tokens) -> Iterator[Tokens]:
    marks = [-1, *(place for place, token in enumerate(said) if token in MARKS), len(said)]
    for before, after in pairwise(marks):
        yield said[before + 1 : after]
