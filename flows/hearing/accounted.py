"""The law of reading: what settles a step counts only where no word beside it is left over.

Every word of its clause is either part of a phrase that was found, a small word, or the name of
something that belongs to it: "the winch line is good and tight". Of "lug nuts are tight" the nuts
are left over, so it is asked about. Nothing is ever dropped to make an act out of a sentence.
"""

from functools import lru_cache
from itertools import pairwise

from flows.hearing.amounts import has_any
from flows.hearing.answers import Answer
from flows.hearing.lexicon import Phrase, talk
from flows.hearing.matching import MARKS, Match, Tokens
from flows.job.facts import FACTS
from flows.job.intents import Did, Give, Intent, Nothing, Settled
from flows.measures.tokens import tokens
from flows.measures.words import NUMBER
from flows.texts import phrases

DECIDING = frozenset({"ready", "wakes"}) | {name for name, of in FACTS.items() if of.looks_again}
"""Facts on which holding, hooking or waking rests: a second look is asked for, or a light."""


TIMED = ("neutral_selected", "danger_released")
"""Acts whose time counts."""


def must_account(intent: Intent) -> bool:
    """Say whether an intent counts only with every word of its clause accounted for.

    Examples
    --------
    >>> must_account(Did("hooked")), must_account(Give("danger", "none"))
    (True, True)
    >>> must_account(Give("history", "crash")), must_account(Give("danger", "seen"))
    (False, False)
    """
    if isinstance(intent, Give):
        is_alarm = intent == Give("danger", "seen")
        return not is_alarm and (intent.fact in DECIDING or intent.value == "none")
    return isinstance(intent, Did | Settled)


def left_over(
    match: Match, said: Tokens, left: list[str], answer: Answer, *, timed: bool
) -> list[str]:
    """Return the words beside a phrase that nothing explains.

    Parameters
    ----------
    said, left
        The words as they were said; the same with a mark for each that belongs to a phrase.
    timed
        A time was said with it, so "since" and "was" tell when it was done.
    """
    is_act = not isinstance(match.intent, Give)
    known = _known(_subjects(match.intent, answer), timed=timed and is_act)
    if not is_act:
        known |= talk("fillers") - talk("past")
    start, stop = _clause(match, said, left)
    rest = uncovered(left[start:stop], known)
    if has_any("inverted", list(said[start:stop])):
        rest.append("?")
    others = uncovered(_after_no(said, left[:start]), known) + uncovered(left[stop:], known)
    return rest + [word for word in others if _doubts(word, answer)]


def _doubts(word: str, answer: Answer) -> bool:
    """Say whether a word anywhere puts an act in doubt; a number does where its time counts."""
    is_number = word.isdecimal() or word in NUMBER
    return (word,) in talk("beside") or (is_number and answer.takes_time)


def explained_by(taken: tuple[Intent, ...], answer: Answer) -> frozenset[Phrase]:
    """Return the phrases that say no more beside what was taken."""
    found = _known((), timed=True)
    for one in taken:
        found |= _known(_subjects(one, answer), timed=True)
    return found


def stray_beside_time(at: list[int], said: Tokens, left: list[str]) -> list[str]:
    """Return the words in the clause of a time that nothing explains: "twnty" of "twnty eight"."""
    known = _known(TIMED, timed=True) | talk("fillers") | talk("time_hedges")
    start, stop = _clause(Match(at[0], at[-1] + 1, Nothing("unclear"), is_local=False), said, left)
    return uncovered(left[start:stop], known)


def timed_words() -> frozenset[Phrase]:
    """Return the words that say no more beside a time: "like", "about", "or so"."""
    return frozenset(map(tokens, phrases()["explained"]["timed"])) - {("set",), ("selected",)}


def uncovered(words: list[str], known: frozenset[Phrase]) -> list[str]:
    """Return the words that no known phrase covers, the longest phrase first.

    Examples
    --------
    >>> uncovered(["good", "and", "line's", "loose"], frozenset({("good", "and"), ("line",)}))
    ['loose']
    """
    found: list[str] = []
    index = 0
    while index < len(words):
        length = _covered(words, index, known)
        if not length and words[index] not in MARKS:
            found.append(words[index])
        index += length or 1
    return found


def _after_no(said: Tokens, before: list[str]) -> list[str]:
    """Return the words before a clause, without a "no" that opens it all: "no, it's hooked"."""
    is_no = said[:1] in _NO and said[1:2] == (",",)
    return before[1:] if is_no else before


_NO = frozenset({("no",), ("nope",), ("nah",)})
_ENDS = MARKS - {"'"}
LONGEST = 4
"""Words in the longest phrase that explains."""


def _covered(words: list[str], index: int, known: frozenset[Phrase]) -> int:
    """Return how many words at an index a known phrase covers; "line's" is the line."""
    for length in range(LONGEST, 0, -1):
        phrase = tuple(words[index : index + length])
        short = (*phrase[:-1], phrase[-1].removesuffix("'s")) if phrase else phrase
        if len(phrase) == length and (phrase in known or short in known):
            return length
    return 0


def _clause(match: Match, said: Tokens, left: list[str]) -> tuple[int, int]:
    """Return where the clause of a phrase begins and ends, with what goes on about it.

    "Hooked, to the battery case" is one: a part that begins with such a word, and in which no
    phrase was found, is about what came before it.
    """
    marks = [-1, *(n for n, one in enumerate(said) if one in _ENDS), len(said)]
    start = max(n for n in marks if n < match.start) + 1
    stop = min(n for n in marks if n >= match.stop)
    goes_on = (
        after for end, after in pairwise(marks) if end >= stop and _goes_on(left[end + 1 : after])
    )
    return start, len(said) if any(goes_on) else stop


def _goes_on(part: list[str]) -> bool:
    """Say whether a part between marks is about what came before it."""
    return bool(part) and "." not in part and (part[0],) in talk("goes_on")


def _subjects(intent: Intent, answer: Answer) -> tuple[str, ...]:
    """Return what an intent is about, by which its own words are looked up."""
    if isinstance(intent, Settled):
        return (answer.item, *answer.acts)
    return (intent.act,) if isinstance(intent, Did) else (getattr(intent, "fact", ""),)


@lru_cache(maxsize=512)
def _known(subjects: tuple[str, ...], *, timed: bool) -> frozenset[Phrase]:
    """Return the phrases that explain a word beside what was said of these."""
    table = phrases()["explained"]
    found = [*table["always"], *(table["timed"] if timed else ())]
    for own in table["own"].values():
        if not set(own["of"]).isdisjoint(subjects):
            found += own["said"]
    return frozenset(map(tokens, found))
