"""How plain a text is: words, sentences, school grade, acts asked for, passives, one word a thing.

The grade is that of Flesch and Kincaid, on our own counts. They are estimates: good enough to find
a sentence that is too hard, not to tell 5.9 from 6.1.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final

from flows.measures.words import vocabulary

_WORD: Final = re.compile(r"\d+(?:[.,]\d+)*|[^\W_]+(?:'[^\W_]+)*")
_END: Final = re.compile(r"(?<=[.?!])\s+|\n+")
_VOWELS: Final = re.compile(r"[aeiouy]+")
# "chocked", "sides", "come"; but "handed", "inches", "handle", "settled".
_SILENT: Final = re.compile(r"[^aeiouy](?:e|(?<![sxzcgh])es|(?<![td])ed)$")
_SPOKEN: Final = re.compile(r"[^aeiouyl]l(?:e|es|ed)$")
_APART: Final = re.compile(r"[aeiouy]ing$|[ae]a$|iet")

ACTS: Final = vocabulary(
    "ask call carry chock close do end find get go hold hook keep leave lift look make move open "
    "pin clamp lower photograph press pull push put read refit secure see select send set shift "
    "slacken stand stay stop strap swap tag take try turn unlock wait wake winch"
)
"""Verbs that ask for an act, at the start of a sentence."""

# Verbs that join a second act to a first, without those that can also be nouns.
_JOINED: Final = re.compile(
    r"\b(?:and|then) (?:call|chock|close|get|hook|leave|move|open|pull|read|secure|set|slacken|"
    r"stand|strap|tag|take|unlock)\b"
)

# Participles that describe a state, not something done to a thing.
_STATES: Final = frozenset({"closed", "driven", "locked", "plugged"})
_PASSIVE: Final = re.compile(
    r"\b(?:is|are|was|were|be|been|being) (?:(?:not|also|only|never) )?"
    r"(\w+ed|done|driven|given|held|hidden|hit|kept|known|left|made|put|read|said|seen|sent|shown|"
    r"taken|told|written)\b",
    re.IGNORECASE,
)
_NEGATES: Final = re.compile(
    r"\b(?:not?|never|nobody|nothing|none|neither|without|cannot|\w+n't)\b", re.IGNORECASE
)
_CLAUSE: Final = re.compile(r"[,:.?!\n]")

TRADE: Final = vocabulary(
    "battery charger combustion disconnect dispatch dispatcher electric headboard hybrid "
    "indication margin neutral operator owner pickup vehicle"
)
"""Terms that every driver uses daily; the school grade need not count them."""

GLOSSARY: Final[Mapping[str, str]] = {
    "automobile": "vehicle", "anchor point": "holding point", "bonnet": "hood", "cable": "line",
    "charging cable": "cord", "connector": "plug", "fire brigade": "fire service",
    "fire department": "fire service", "flatbed": "truck", "hand over": "hand off",
    "handbrake": "brake", "handover": "hand-off", "isolation": "disconnect",
    "isolator": "disconnect", "lashing": "strap", "ratchet": "strap", "rollback": "truck",
    "rope": "line", "shut": "closed", "tie down": "strap", "tyre": "tire", "tow truck": "truck",
    "vehicle carrier": "truck", "wedge": "chock",
}  # fmt: skip
"""One word for one thing: words that a message must not use, and the word to use instead."""

_WRONG: Final = re.compile(
    rf"\b(?:{'|'.join(sorted(GLOSSARY, key=len, reverse=True))})s?\b", re.IGNORECASE
)


def words(text: str) -> list[str]:
    """Return the words of a text; "hand-off" is two words, "charger's" and 4,250 are one each.

    Examples
    --------
    >>> words("Hand-off: 4,250 lb, the charger's.")
    ['Hand', 'off', '4,250', 'lb', 'the', "charger's"]
    """
    return _WORD.findall(text)


def sentences(text: str) -> list[str]:
    """Return the sentences of a text; a line break ends a sentence too.

    Examples
    --------
    >>> sentences("Stop. Any smoke? Say away")
    ['Stop.', 'Any smoke?', 'Say away']
    """
    return [part for part in _END.split(text.strip()) if _WORD.search(part)]


def syllables(word: str) -> int:
    """Return how many syllables a word has, by its groups of vowels; a number counts as one.

    Examples
    --------
    >>> [syllables(word) for word in ("chocked", "handed", "vehicle", "services")]
    [1, 2, 3, 3]
    """
    plain = word.lower().replace("'", "")
    groups = len(_VOWELS.findall(plain)) + len(_APART.findall(plain))
    if _SILENT.search(plain) and not _SPOKEN.search(plain):
        groups -= 1
    return max(groups, 1)


def flesch_kincaid(word_count: int, sentence_count: int, syllable_count: int) -> float:
    """Return the school grade (United States) that a text requires.

    0.39 words per sentence + 11.8 syllables per word - 15.59.

    Parameters
    ----------
    word_count, sentence_count, syllable_count
        Counts of the text, each 1 or more.

    Raises
    ------
    ValueError
        If a count is under 1.

    Notes
    -----
    Source: Kincaid, Fishburne, Rogers, Chissom, Research Branch Report 8-75, 1975.

    Examples
    --------
    13 words in one sentence with 24 syllables: 5.07 + 21.78 - 15.59.

    >>> round(flesch_kincaid(13, 1, 24), 1)
    11.3
    """
    counts: Sequence[int] = (word_count, sentence_count, syllable_count)
    if min(counts) < 1:
        raise ValueError(f"counts are {counts}: each must be 1 or more; give a text with words")
    return 0.39 * word_count / sentence_count + 11.8 * syllable_count / word_count - 15.59


def grade(text: str, known: Iterable[str] = ()) -> float:
    """Return the school grade of a text, not counting words that every reader knows.

    Parameters
    ----------
    text
        The text. If it has no word to count, its grade is 0.
    known
        Terms in lower case that its readers use daily, however long.

    Examples
    --------
    >>> grade("Chock the vehicle both ways. Say chocked.") < 3
    True
    """
    daily = frozenset(known)
    counted = [word for word in words(text) if word.lower() not in daily]
    if not counted:
        return 0.0
    ends = len(sentences(text)) or 1
    return max(flesch_kincaid(len(counted), ends, sum(map(syllables, counted))), 0.0)


def acts_asked(text: str) -> list[str]:
    """Return the verbs of a text that ask for an act.

    A sentence of one word asks for nothing: it is a priority, a verdict or a pause.

    Examples
    --------
    >>> acts_asked("Stop. Chock the vehicle both ways. Say chocked.")
    ['chock']
    """
    found = []
    for sentence in sentences(text):
        said = [word for word in map(str.lower, words(sentence)) if word not in {"or", "then"}]
        if len(said) > 1 and said[0] in ACTS and not sentence.endswith("?"):
            found.append(said[0])
        found.extend(match.split()[-1] for match in _JOINED.findall(sentence))
    return found


def passives(text: str) -> list[str]:
    """Return the passives of a text: a form of "be" and a participle that is not a state.

    Examples
    --------
    >>> passives("The pin was taken out. The plug is closed.")
    ['was taken']
    """
    return [m[0] for m in _PASSIVE.finditer(text) if m[1].lower() not in _STATES]


def double_negatives(text: str) -> list[str]:
    """Return the clauses that negate more than once.

    Examples
    --------
    >>> double_negatives("No card, no pull. Never drag what does not turn.")
    ['Never drag what does not turn']
    """
    clauses = (clause.strip() for clause in _CLAUSE.split(text))
    return [clause for clause in clauses if len(_NEGATES.findall(clause)) > 1]


def wrong_words(text: str) -> Iterator[tuple[str, str]]:
    """Yield each word that the glossary replaces, with its replacement.

    Examples
    --------
    >>> list(wrong_words("Loose cables on the flatbed"))
    [('cables', 'line'), ('flatbed', 'truck')]
    """
    for match in _WRONG.finditer(text):
        found = match[0].lower()
        yield match[0], GLOSSARY.get(found) or GLOSSARY[found.removesuffix("s")]
