"""A vehicle's identification number: check digit, model year, and likely misreadings.

A number that looks wrong is a warning, never a stop: outside North America the check digit is not
compulsory, and the plate itself is what counts. Candidates are offered, never substituted.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product
from types import MappingProxyType
from typing import Final, Literal

from flows.errors import FlowError

Problem = Literal["length", "character", "letter", "check_digit", "year_code"]

LENGTH: Final = 17
CHECK_POSITION: Final = 9
YEAR_POSITION: Final = 10
BLOCK_POSITION: Final = 7
NEVER_USED: Final = "IOQ"
"""Letters that no number contains (49 CFR 565)."""

VALUES: Final[Mapping[str, int]] = MappingProxyType(
    {digit: int(digit) for digit in "0123456789"}
    | dict(zip("ABCDEFGHJKLMNPRSTUVWXYZ", map(int, "12345678123457923456789"), strict=True))
)
"""The value of each character (49 CFR 565 Table III)."""
WEIGHTS: Final = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
"""The weight of each position (49 CFR 565 Table IV); that of the check digit is zero."""
YEAR_CODES: Final = "ABCDEFGHJKLMNPRSTVWXY123456789"
"""Model year from 1980 on, and again from 2010 (49 CFR 565.15 Table VII)."""
FIRST_YEAR: Final = 1980

_LOOK_ALIKE: Final = ("S5", "B8", "Z2", "G6", "D0", "UV", "L1", "71", "CG", "EF", "PR", "VY", "38")
_SOUND_ALIKE: Final = ("BCDEGPTVZ3", "MN", "FSX", "AHJK8", "59", "UW")
_INSTEAD: Final[Mapping[str, str]] = MappingProxyType({"I": "1", "O": "0", "Q": "09"})
_NORTH_AMERICAN: Final = "12345"


def _alike(groups: tuple[str, ...]) -> Mapping[str, str]:
    """Return, for each character, the others in its groups, in order."""
    each = sorted(set("".join(groups)))
    return MappingProxyType(
        {one: "".join(sorted(set("".join(g for g in groups if one in g)) - {one})) for one in each}
    )


LOOKS_LIKE: Final = _alike(_LOOK_ALIKE)
"""Characters that look alike on a plate: common practice, no source."""
SOUNDS_LIKE: Final = _alike(_SOUND_ALIKE)
"""Characters that sound alike on a radio: common practice, no source."""


class VinError(FlowError, ValueError):
    """Text for which there is no check digit.

    Parameters
    ----------
    text : str
        The text given.
    """

    TEXT: Final = (
        "vehicle number is {text}; allowed: 17 digits and letters without I, O and Q. "
        "Read the plate again, one character at a time."
    )

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(self.TEXT.format(text=text or "empty"))


@dataclass(frozen=True, slots=True)
class Vin:
    """The meaning of a vehicle number, and anything that looks wrong with it.

    Attributes
    ----------
    text : str
        In capitals, without gaps and hyphens; otherwise as given.
    problems : tuple of str
        Warnings: ``"length"`` (not 17), ``"character"`` (neither letter nor digit),
        ``"letter"`` (I, O or Q), ``"check_digit"``, ``"year_code"``.
    candidates : tuple of str
        Numbers with a correct check digit, of which this may be a misreading.
    years : tuple of int
        Model years that the code can mean; empty if it has no meaning.
    is_north_american : bool
        Whether the first character belongs to North America (1 to 5; from memory), where the
        check digit is compulsory.
    """

    text: str
    problems: tuple[Problem, ...]
    candidates: tuple[str, ...]
    years: tuple[int, ...]
    is_north_american: bool


def clean(text: str) -> str:
    """Return a typed number in capitals, without gaps, hyphens and dots.

    Examples
    --------
    >>> clean(" 0rllprf8 3k-0000017 ")
    '0RLLPRF83K0000017'
    """
    return "".join(text.replace("-", " ").replace(".", " ").split()).upper()


def weighted_sum(text: str) -> int:
    """Return the sum of each character's value times the weight of its position.

    Parameters
    ----------
    text : str
        17 characters that are allowed in a number, in capitals.

    Returns
    -------
    int
        0 to 801; no dimension.

    Raises
    ------
    VinError
        For anything else.

    Notes
    -----
    Source: 49 CFR 565 Tables III and IV.

    Examples
    --------
    Seventeen ones: the weights together (a published test vector).

    >>> weighted_sum("11111111111111111")
    89
    """
    if not _has_a_sum(text):
        raise VinError(text)
    return sum(VALUES[one] * weight for one, weight in zip(text, WEIGHTS, strict=True))


def _has_a_sum(text: str) -> bool:
    """Tell whether a text has the length of a number, and only characters that have a value."""
    return len(text) == LENGTH and set(text) <= VALUES.keys()


def check_digit(text: str) -> str:
    """Return the correct ninth character: the sum's remainder by 11, X for 10.

    Parameters
    ----------
    text : str
        As for `weighted_sum`; its own ninth character does not count.

    Raises
    ------
    VinError
        As `weighted_sum`.

    Notes
    -----
    Source: 49 CFR 565, the sample calculation under Table V.

    Examples
    --------
    An invented number: its sum 278 is 25 times 11 and 3. With M as the tenth character, 296
    is 26 times 11 and 10.

    >>> check_digit("0RLLPRF80K0000017"), check_digit("0RLLPRF80M0000017")
    ('3', 'X')
    """
    rest = weighted_sum(text) % 11
    return "X" if rest == 10 else str(rest)


def is_consistent(text: str) -> bool:
    """Tell whether the check digit is correct; False for text that has no check digit.

    Examples
    --------
    >>> is_consistent("11111111111111111"), is_consistent("11111111111111112")
    (True, False)
    """
    try:
        return text[CHECK_POSITION - 1 : CHECK_POSITION] == check_digit(text)
    except VinError:
        return False


def model_years(text: str, *, is_light: bool) -> tuple[int, ...]:
    """Return the model years that the tenth character can mean.

    Parameters
    ----------
    text : str
        The number, in capitals.
    is_light : bool
        True for a passenger car or a light truck of 10,000 lb GVWR at most. For these the
        seventh character gives the block: a digit 1980 to 2009, a letter 2010 to 2039. For
        heavier vehicles and trailers it does not, and both years are returned.

    Returns
    -------
    tuple of int
        The earlier first; empty if the code is not for a year.

    Notes
    -----
    Source: 49 CFR 565.15 Table VII and its footnote.

    Examples
    --------
    K is 1989 or 2019; the seventh character is the letter F:

    >>> model_years("0RLLPRF83K0000017", is_light=True)
    (2019,)
    >>> model_years("0RLLPRF83K0000017", is_light=False)
    (1989, 2019)
    """
    code = text[YEAR_POSITION - 1 : YEAR_POSITION]
    if not code or code not in YEAR_CODES:
        return ()
    first = FIRST_YEAR + YEAR_CODES.index(code)
    both = (first, first + len(YEAR_CODES))
    if not is_light:
        return both
    return both[:1] if text[BLOCK_POSITION - 1].isdecimal() else both[1:]


def candidates(text: str, alike: Mapping[str, str] = LOOKS_LIKE) -> tuple[str, ...]:
    """Return the numbers with a correct check digit that differ by one likely misreading.

    A letter that no number contains must be a misreading, so all such letters are replaced and
    nothing else; otherwise a single character is replaced by each that is like it.

    Parameters
    ----------
    text : str
        The number as read, in capitals.
    alike : mapping of str to str
        Which characters are alike: `LOOKS_LIKE` or `SOUNDS_LIKE`.

    Returns
    -------
    tuple of str
        In the order of the position that differs; empty if `text` is consistent, or too far from
        a number. Only a person at the plate can choose.

    Examples
    --------
    An invented number, its 8 read as B. Two other misreadings would give the same remainder:

    >>> candidates("0RLLPRFB3K0000017")
    ('0RLLPPFB3K0000017', '0RLLPRF83K0000017', '0RLLPRFB3K0000D17')
    """
    if len(text) != LENGTH or is_consistent(text):
        return ()
    return tuple(dict.fromkeys(one for one in _misread(text, alike) if is_consistent(one)))


def _misread(text: str, alike: Mapping[str, str]) -> Iterator[str]:
    """Yield every number that may have been misread as this."""
    if not set(NEVER_USED).isdisjoint(text):
        yield from map("".join, product(*(_INSTEAD.get(one, one) for one in text)))
        return
    for index, one in enumerate(text):
        for other in alike.get(one, ""):
            yield text[:index] + other + text[index + 1 :]


def examine(text: str, *, is_light: bool, alike: Mapping[str, str] = LOOKS_LIKE) -> Vin:
    """Return the meaning of a number and every warning about it; never refuse a number.

    Parameters
    ----------
    text : str
        As typed, or as read by `flows.measures.spelled`.
    is_light, alike
        As in `model_years` and `candidates`.

    Examples
    --------
    >>> examine("11111111111111112", is_light=True).problems
    ('check_digit',)
    """
    plain = clean(text)
    return Vin(
        text=plain,
        problems=tuple(_problems(plain)),
        candidates=candidates(plain, alike),
        years=model_years(plain, is_light=is_light) if len(plain) == LENGTH else (),
        is_north_american=plain[:1] in _NORTH_AMERICAN and bool(plain),
    )


def _problems(text: str) -> Iterator[Problem]:
    if len(text) != LENGTH:
        yield "length"
    if not set(text) <= VALUES.keys() | set(NEVER_USED):
        yield "character"
    if not set(NEVER_USED).isdisjoint(text):
        yield "letter"
    if _has_a_sum(text) and not is_consistent(text):
        yield "check_digit"
    if len(text) == LENGTH and text[YEAR_POSITION - 1] not in YEAR_CODES:
        yield "year_code"
