"""One slip of the thumb: letters swapped, one doubled, dropped or added, or its neighbour hit."""

from functools import lru_cache

SHORT, LONG = 4, 5
"""Words of so many letters: a short one is known only by its own letters, swapped or doubled."""
_ROWS = ("qwertyuiop", "asdfghjkl", "zxcvbnm")
_VOWELS = frozenset("aeiou")


def is_slip_of(written: str, word: str) -> bool:
    """Say whether a word was written with one slip. The first letter is hardly ever the wrong one.

    Examples
    --------
    >>> [is_slip_of(one, "smoke") for one in ("smoek", "smke", "smooke", "spoke", "smoke")]
    [True, True, True, False, False]
    >>> is_slip_of("fier", "fire"), is_slip_of("fir", "fire"), is_slip_of("strapped", "trapped")
    (True, False, False)
    """
    if len(word) < SHORT or written == word or written[:1] != word[:1]:
        return False
    return _is_long_slip(written, word) if len(word) >= LONG else _is_short_slip(written, word)


NEAR_TO = 8
"""Letters from which a word is known by all but two of them."""


def is_near(written: str, word: str) -> bool:
    """Say whether a word is one letter off, or two where it is long; the first letter is right.

    Only for a word that is expected: "chocket" where "chocked" is asked for.

    Examples
    --------
    >>> [is_near(one, "chocked") for one in ("chocket", "chcoked", "chockd", "clocked", "shocked")]
    [True, True, True, True, False]
    >>> is_near("flst", "flat"), is_near("rad", "red"), is_near("confrimd", "confirmed")
    (True, False, True)
    """
    most = 2 if len(word) >= NEAR_TO else 1
    is_like = (
        len(word) >= SHORT and written[:1] == word[:1] and abs(len(written) - len(word)) <= most
    )
    return is_like and _edits(written, word) <= most


FAR = 7
"""Letters from which a word that was never heard before may be two letters off."""


def within(written: str, word: str) -> bool:
    """Say whether a word is written almost like another: one letter off, or two of a long one.

    Examples
    --------
    >>> within("strapd", "strapped"), within("tihgt", "tight"), within("when", "wren")
    (True, True, True)
    """
    most = 2 if len(word) >= FAR else 1
    is_like = len(word) >= SHORT and abs(len(written) - len(word)) <= most
    return is_like and written != word and _edits(written, word) <= most


def sounds_like(written: str, word: str) -> bool:
    """Say whether two words sound alike: the same consonants in the same order.

    Examples
    --------
    >>> sounds_like("whealed", "wheeled"), sounds_like("tide", "tight"), sounds_like("on", "in")
    (True, True, False)
    """
    return written != word and len(word) >= SHORT and _sound(written) == _sound(word)


@lru_cache(maxsize=8192)
def _sound(word: str) -> str:
    """Return the consonants of a word as they sound, each once."""
    for spelled, heard in _SOUNDS:
        word = word.replace(spelled, heard)
    found = ""
    for letter in word[:1] + "".join(one for one in word[1:] if one not in "aeiouyhw"):
        if not found.endswith(letter):
            found += letter
    return found


_SOUNDS = (
    ("ght", "t"), ("ck", "k"), ("ch", "x"), ("sh", "x"), ("ph", "f"), ("wr", "r"), ("kn", "n"),
    ("c", "k"), ("q", "k"), ("z", "s"), ("d", "t"), ("b", "p"), ("g", "k"), ("v", "f"),
)  # fmt: skip
"""Letters that are heard alike, the longer first: a recogniser mixes up "d" and "t"."""


def _edits(one: str, other: str) -> int:
    """Return how many letters are added, dropped, changed, or swapped with the next."""
    before: list[int] = []
    row = list(range(len(other) + 1))
    for at, letter in enumerate(one, 1):
        before, last, row = row, before, [at]
        for to, wanted in enumerate(other, 1):
            best = min(before[to] + 1, row[to - 1] + 1, before[to - 1] + (letter != wanted))
            swapped = at > 1 and to > 1 and (letter, one[at - 2]) == (other[to - 2], wanted)
            row.append(min(best, last[to - 2] + 1) if swapped else best)
    return row[-1]


def _is_short_slip(written: str, word: str) -> bool:
    if len(written) == len(word):
        return _is_swapped(written, word)
    return len(written) == len(word) + 1 and _is_added(written, word) and _doubles(written, word)


def _is_long_slip(written: str, word: str) -> bool:
    match len(written) - len(word):
        case 0:
            return _is_swapped(written, word) or _is_hit(written, word)
        case 1:
            return _is_added(written, word)
        case -1:
            return _is_added(word, written)
        case _:
            return False


def _first_other(one: str, other: str) -> int:
    """Return the first place at which two words differ, the length of the shorter for none."""
    pairs = enumerate(zip(one, other, strict=False))
    return next((at for at, (a, b) in pairs if a != b), min(len(one), len(other)))


def _is_swapped(written: str, word: str) -> bool:
    at = _first_other(written, word)
    return written[at : at + 2] == word[at : at + 2][::-1] and written[at + 2 :] == word[at + 2 :]


def _is_hit(written: str, word: str) -> bool:
    """Say whether one letter is another vowel, or its neighbour on the keyboard."""
    at = _first_other(written, word)
    if written[at + 1 :] != word[at + 1 :]:
        return False
    return {written[at], word[at]} <= _VOWELS or _are_neighbours(written[at], word[at])


def _are_neighbours(one: str, other: str) -> bool:
    return any(one + other in row or other + one in row for row in _ROWS)


def _is_added(longer: str, shorter: str) -> bool:
    at = _first_other(longer, shorter)
    return longer[at + 1 :] == shorter[at:]


def _doubles(written: str, word: str) -> bool:
    at = _first_other(written, word)
    return written[at] == word[at - 1]
