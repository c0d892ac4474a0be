"""Words that may be a place, and where they begin in a text that opens with facts."""

from flows.hearing.answers import Answer
from flows.hearing.lexicon import Lexicon, talk
from flows.job.intents import Give
from flows.measures.tokens import tokens

PHONE_DIGITS = 7


def says_something(text: str) -> bool:
    """Say whether words can name a place or a person: not a few digits, not one letter.

    As many digits as a phone number has do.

    Examples
    --------
    >>> [says_something(text) for text in ("mile 12", "I-70", "12", "x", "?", "\u6771\u4eac")]
    [True, True, False, False, False, True]
    >>> says_something("555 0142"), says_something("5200")
    (True, False)
    """
    written = [character for character in text if character.isalnum()]
    digits = all(character.isdecimal() for character in written)
    return len(written) >= (PHONE_DIGITS if digits else 2)


def facts_first(text: str, answer: Answer, lexicon: Lexicon) -> tuple[str, str]:
    """Part a text into the facts it opens with and the rest.

    Parameters
    ----------
    answer
        The open question: its own phrases count too.

    Examples
    --------
    >>> from flows.hearing.answers import NOTHING
    >>> from flows.job.intents import Give
    >>> crash = Answer("choice", phrases=((("crash",), Give("history", "crash")),))
    >>> class Nowhere:
    ...     anytime = {}
    >>> facts_first("a crash mile 12 northbound", crash, Nowhere())
    ('a crash', 'mile 12 northbound')
    """
    pieces = text.split()
    stop = 0
    while stop < len(pieces):
        ends = range(len(pieces), stop, -1)
        end = next((e for e in ends if _is_fact(pieces[stop:e], answer, lexicon)), stop)
        if end == stop:
            break
        stop = end
    return " ".join(pieces[:stop]), " ".join(pieces[stop:])


def _is_fact(pieces: list[str], answer: Answer, lexicon: Lexicon) -> bool:
    """Say whether words are one phrase for a fact, with small words before it or none."""
    said = tokens(" ".join(pieces))
    while said:
        anytime = dict(lexicon.anytime.get(said[0], ()))
        if isinstance(answer.by_phrase.get(said) or anytime.get(said), Give):
            return True
        if (said[0],) not in talk("fillers"):
            return False
        said = said[1:]
    return False
