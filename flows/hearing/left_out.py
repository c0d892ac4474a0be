"""Whatever of a message was not taken, where something else of it was."""

from collections.abc import Iterable
from functools import cache, lru_cache

from flows.hearing.accounted import explained_by, uncovered
from flows.hearing.answers import NOTHING, Answer
from flows.hearing.clauses import bits, spelled_out, without_polite, words_of
from flows.hearing.lexicon import Lexicon, talk
from flows.hearing.matching import MARKS, Tokens
from flows.hearing.understand import understand
from flows.job.intents import Intent, Nothing, Unsettled, When
from flows.measures.tokens import tokens

MOST_WORDS = 8
"""So many of its words are said back: the sentence stays short enough to hear."""


@lru_cache(maxsize=1024)
def not_taken(
    parts: tuple[str, ...], taken: tuple[Intent, ...], answer: Answer, lexicon: Lexicon | None
) -> str:
    """Return the parts of a message that told nothing, as they were said; "" for none.

    Small words and pleasantries are no loss, nor are words about what was taken.

    Parameters
    ----------
    parts
        The message between its marks.
    taken
        What it was understood as.
    """
    if len(parts) < 2:
        return ""
    left = [part.split() for part in parts if not _counted(part, taken, answer, lexicon)]
    words = [word for part in left for word in (*part[:-1], part[-1] + ",")]
    return " ".join(words[:MOST_WORDS]).rstrip(",")


def _counted(
    part: str, taken: tuple[Intent, ...], answer: Answer, lexicon: Lexicon | None
) -> bool:
    """Say whether a part told what was taken, or holds no word that could tell anything."""
    said = tuple(one for one in tokens(part) if one not in MARKS)
    if said in talk("asides") or not _content(said, taken, answer):
        return True
    alone = {*understand(part, answer, lexicon), *understand(part, NOTHING, lexicon)}
    timed = _has_time(taken) and _has_time(alone)
    # "No leaks" is the rest of "nothing seen", as far as it goes.
    of_rest = Nothing("rest") in alone
    return timed or of_rest or not alone.isdisjoint(_told(taken))


def _has_time(meant: Iterable[Intent]) -> bool:
    return any(isinstance(one, When) for one in meant)


def _told(taken: tuple[Intent, ...]) -> set[Intent]:
    return {one for one in taken if not isinstance(one, Nothing | Unsettled)}


def _content(said: Tokens, taken: tuple[Intent, ...], answer: Answer) -> list[str]:
    """Return the words of a part that are neither small nor about what was taken."""
    known = explained_by(taken, answer) | talk("fillers")
    left = uncovered(list(without_polite(spelled_out(said))), known)
    return [one for one in left if not _is_small(one)]


def _is_small(word: str) -> bool:
    return bool(words_of().get(word, {}).get((word,), 0) & _empty())


@cache
def _empty() -> int:
    """Return the bits of small words that tell nothing of their own."""
    return sum(bits()[f"small.{one}"] for one in ("light", "polite", "wholly", "degree"))
