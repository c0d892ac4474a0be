"""Read letters and digits spelled aloud: by name, by a phonetic word, one or two digits at a time.

Vehicle numbers and plates are spelled. "Oh" is zero: no vehicle number has the letter. If a number
can be split two ways ("eighty eight" is 88 or 80 8), both readings are returned.
"""

import re
import unicodedata
from dataclasses import dataclass
from itertools import islice, product
from typing import Final

from flows.measures.words import DIGITS, OH, SMALL, SOUNDS_LIKE_DIGIT, TIMES, vocabulary

LONGEST: Final = 400
"""Only this many characters are read; nobody spells for longer."""
MOST_READINGS: Final = 64

_ALPHABETS: Final = (
    # The international radiotelephony alphabet and that of police radios, both from memory.
    "alfa bravo charlie delta echo foxtrot golf hotel india juliett kilo lima mike november oscar "
    "papa quebec romeo sierra tango uniform victor whiskey xray yankee zulu",
    "adam boy charles david edward frank george henry ida john king lincoln mary nora ocean paul "
    "queen robert sam tom union victor william xray young zebra",
    # Other words people use, and how recognisers spell them.
    "alpha baker dog easy fox juliet nancy oboe peter roger sugar thomas whisky yellow zed",
)
_NAMES: Final = {
    "b": "be bee", "c": "see sea cee", "d": "dee", "f": "ef eff", "g": "gee", "h": "aitch",
    "j": "jay", "k": "kay", "l": "el ell", "m": "em", "n": "en", "p": "pee pea", "q": "cue queue",
    "r": "are ar", "s": "es ess", "t": "tee tea", "u": "you yu", "v": "vee", "w": "doubleyou",
    "x": "ex", "y": "why wye", "z": "zee zed", "i": "eye",
}  # fmt: skip
LETTERS: Final[dict[str, str]] = (
    {letter: letter.upper() for letter in "abcdefghijklmnpqrstuvwxyz"}
    | {word: word[0].upper() for words in _ALPHABETS for word in words.split()}
    | {name: letter.upper() for letter, names in _NAMES.items() for name in names.split()}
)
"""Every word for a letter, with the letter."""

_DIGITS: Final[dict[str, str]] = (
    {word: str(SMALL[word]) for word in (*DIGITS.split(), "nought", "naught", "niner")}
    | {word: str(digit) for word, digit in SOUNDS_LIKE_DIGIT.items()}
    | dict.fromkeys(OH, "0")
)
_LIKENING: Final = (("as", "in"), ("for",), ("like",))
_FILLER: Final = vocabulary(
    "vin number is the it its it's and then dash hyphen space um uh er so okay ok vehicle reads "
    "says next letter letters digit digits that's"
)
_WORD: Final = re.compile(r"[a-z\d]+(?:'[a-z]+)?")
_ONE_WORD: Final = (("x ray", "xray"), ("double you", "doubleyou"), ("double u", "doubleyou"))
_SPELLED: Final = re.compile(r"[bcdfghjklmnpqrstvwxz]+")


@dataclass(frozen=True, slots=True)
class Spelled:
    """A spelled text: every reading, likeliest first, and the words that could not be read."""

    readings: tuple[str, ...]
    unread: tuple[str, ...]


def spelled(text: str, length: int | None = None) -> Spelled:
    """Read letters and digits that were said or typed one after the other.

    Parameters
    ----------
    text : str
        From a recogniser, or typed by a person.
    length : int or None
        How many characters to expect: if any readings have that length, only those are returned.
        A typed text of that length, not counting gaps and marks, is taken unchanged.

    Returns
    -------
    Spelled
        In capitals. `unread` has the words that are neither letter nor digit nor filler; they are
        not part of the readings, which the caller has to read back.

    Examples
    --------
    >>> spelled("one mike eight golf, b as in boy, double two").readings
    ('1M8GB22',)
    >>> spelled("papa oh forty two").readings
    ('P042', 'P0402')
    """
    plain = unicodedata.normalize("NFKC", text[:LONGEST]).casefold()
    typed = re.sub(r"[\s.,\-]", "", plain)
    if _is_typed(typed, length):
        return Spelled((typed.upper(),), ())
    parts, unread = _parts(_words(plain))
    readings = list(dict.fromkeys(map("".join, islice(product(*parts), MOST_READINGS))))
    fitting = [one for one in readings if len(one) == length]
    return Spelled(tuple(one for one in fitting or readings if one), tuple(unread))


def _is_typed(text: str, length: int | None) -> bool:
    """Tell whether a text is a number typed out: of the expected length, with a digit in it."""
    return len(text) == length and re.search(r"\d", text) is not None


def said_again(text: str) -> str:
    """Return letters and digits as they are read back: phonetic words and names of digits.

    Examples
    --------
    >>> said_again("P42")
    'papa four two'
    """
    phonetic = {word[0].upper(): word for word in _ALPHABETS[0].split()}
    named = dict(zip("0123456789", DIGITS.split(), strict=True))
    return " ".join((phonetic | named).get(one, one) for one in text.upper())


def _words(plain: str) -> list[str]:
    spaced = " ".join(_WORD.findall(plain))
    for said, word in _ONE_WORD:
        spaced = re.sub(rf"\b{said}\b", word, spaced)
    return [word for word in spaced.split() if word not in _FILLER]


def _parts(words: list[str]) -> tuple[list[tuple[str, ...]], list[str]]:
    """Return the meanings of each piece, and the words without a meaning."""
    parts: list[tuple[str, ...]] = []
    unread: list[str] = []
    index = 0
    while index < len(words):
        found, taken = _piece(words, index)
        if found:
            parts.append(found)
        else:
            unread.append(words[index])
        index += taken
    return parts, unread


def _piece(words: list[str], index: int) -> tuple[tuple[str, ...], int]:
    """Return every meaning of one piece, and how many words it takes."""
    word, rest = words[index], words[index + 1 :]
    if word in TIMES and rest and (repeated := _one(rest[0])):
        return (repeated * TIMES[word],), 2
    if word in SMALL and SMALL[word] >= 10:
        return _two_digits(SMALL[word], rest)
    one = _one(word) or _as_written(word)
    return ((one,) if one else ()), 1 + _likened(one, rest)


def _as_written(word: str) -> str:
    """Return consonants, or letters and digits mixed, in capitals; empty for a plain word."""
    is_plain_word = word.isalpha() and not _SPELLED.fullmatch(word)
    return word.upper() if word.isascii() and word.isalnum() and not is_plain_word else ""


def _one(word: str) -> str:
    return LETTERS.get(word) or _DIGITS.get(word) or (word if word.isdecimal() else "")


def _two_digits(value: int, rest: list[str]) -> tuple[tuple[str, ...], int]:
    """Read "forty", and "forty two" both ways."""
    follower = SMALL.get(rest[0], 0) if rest else 0
    if value >= 20 and 0 < follower < 10:
        return (str(value + follower), f"{value}{follower}"), 2
    return (str(value),), 1


def _likened(letter: str, rest: list[str]) -> int:
    """Return how many words liken a letter: "as in boy", "for victor"; 0 after a digit."""
    if not letter.isalpha():
        return 0
    for words in _LIKENING:
        after = "".join(rest[len(words) : len(words) + 1])
        if tuple(rest[: len(words)]) == words and len(after) > 1 and after[0].upper() == letter:
            return len(words) + 1
    return 0
