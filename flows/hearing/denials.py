"""How far a negation reaches: "no flames just smoke" denies the flames only.

A phrase for an act is denied by any negation before it in its clause (`matching.negated`): taken
for undone it is asked again. A word of danger must not be lost to a negation of something else.
"""

from functools import cache
from typing import Literal

from flows.hearing.lexicon import talk
from flows.hearing.matching import Tokens, clause_of, other_stop
from flows.texts import alarm_words

Denial = Literal["", "denied", "doubtful"]


def denial(said: Tokens, index: int) -> Denial:
    """Return whether a word is denied; "doubtful" where a clause begins in between.

    Examples
    --------
    >>> denial(("no", "smoke"), 1), denial(("no", "flames", "just", "smoke"), 3)
    ('denied', '')
    >>> denial(("won't", "start", "and", "smoke"), 3), denial(("oh", "no", "smoke"), 2)
    ('doubtful', '')
    """
    clause = clause_of(said[:index])
    last = max((at for at, token in enumerate(clause) if _negates(token)), default=-1)
    if last < 0:
        return ""
    between = clause[last + 1 :]
    if _exclaims(clause, last) or _words("breaks").intersection(between):
        return ""
    return _by_clause(between)


def _by_clause(between: Tokens) -> Denial:
    """Return the reach of a negation over the words after it, by the clauses among them."""
    if "and" in between:
        after = between[len(between) - between[::-1].index("and") :]
        return "" if after and after[0] in _words("starts") else "doubtful"
    return "doubtful" if _words("starts").intersection(between) else "denied"


def _exclaims(clause: Tokens, at: int) -> bool:
    """Say whether a "no" negates nothing: "oh no", "no there's", "no the left one"."""
    if clause[at] != "no":
        return False
    after = clause[at + 1 : at + 2]
    starts = _words("starts") | _words("exclaims")
    return clause[max(at - 1, 0)] in _words("oh") - {"no"} or bool(starts.intersection(after))


def _negates(token: str) -> bool:
    return (token,) in talk("negators") or token in _words("negators")


def stop_denied(said: Tokens, index: int) -> bool:
    """Say whether "stop" is not called out: "don't ever stop", a bus stop; never "no stop".

    Examples
    --------
    >>> stop_denied(("don't", "stop"), 1), stop_denied(("don't", "move", "stop"), 2)
    (True, False)
    """
    if other_stop(said, index):
        return True
    at = index - 1
    while at >= 0 and said[at] in _words("to_stop"):
        at -= 1
    return at >= 0 and _negates(said[at]) and (said[at] != "no" or at < index - 1)


@cache
def _words(name: str) -> frozenset[str]:
    return frozenset(alarm_words()["reach"][name])
