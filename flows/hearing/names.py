"""Another name, said while one is read back, without the words that correct the first."""

import re
from functools import cache

from flows.hearing.lexicon import talk
from flows.measures import tokens
from flows.texts import phrases

_REST = re.compile(r"[\s,.;:-]+")


@cache
def _leads() -> re.Pattern[str]:
    """Return what finds the words before the other name: "no, it was"."""
    return re.compile(rf"\s*(?:{_any('renames')})(?![\w'])", re.IGNORECASE)


@cache
def _denied() -> re.Pattern[str]:
    """Return what finds the first name denied: up to a word that brings the other, or the end."""
    until = rf"(?=(?<!\w)(?:{_any('renames')})(?!\w)|$)"
    return re.compile(rf"(?<!\w)(?:{_any('unnames')})\s.*?{until}", re.IGNORECASE)


def _any(name: str) -> str:
    said = sorted(phrases()["talk"][name], key=len, reverse=True)
    return "|".join(re.escape(one).replace(r"\ ", r"\s+") for one in said)


def another_name(text: str) -> str:
    """Return the name in a text that corrects the one read back; empty where it names nobody.

    Examples
    --------
    >>> another_name("no, it was Harbor Fire"), another_name("yes, that's right")
    ('Harbor Fire', '')
    >>> another_name("not county, it was Harbor Rescue"), another_name("Harbor not county fire")
    ('Harbor Rescue', 'Harbor')
    """
    left = _denied().sub(" ", text)
    lead = _leads().match(left)
    while lead is not None:
        left = _REST.sub(" ", left[lead.end() :], count=1)
        lead = _leads().match(left)
    name = " ".join(left.strip(" .,;:-!").split())
    return name if names_somebody(name, "agrees") else ""


def names_somebody(text: str, *beside: str) -> bool:
    """Say whether any word is left but those that name nobody: "I did", "they released it"."""
    empty = talk("fillers") | talk("no_names")
    empty = empty.union(*(talk(one) for one in beside))
    return any(token.isalpha() and (token,) not in empty for token in tokens(text))
