"""The closed vocabulary of spoken and typed quantities: every word the grammar knows.

The reader (`phrases`, `segments`, `numbers`) and the grammar that a recogniser is held to
(`flows/hearing/hearable.py`) are both made of these words, each of which is written once.
"""

from fractions import Fraction
from typing import Final

Value = int | Fraction
"""An exact number: an integer, or a fraction if the words need it."""

Atom = int | Fraction | str
"""One piece of a number: a word's value, a fraction's part, a run of digits, or a mark below."""


def vocabulary(words: str) -> frozenset[str]:
    """Return the words of a line as a set."""
    return frozenset(words.split())


POINT: Final = "."
AND: Final = "and"
UNREADABLE: Final = "?"
HUNDRED: Final = 100
THOUSAND: Final = 1000

DIGITS: Final = "zero one two three four five six seven eight nine"
TEENS: Final = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen"
TENS: Final = "twenty thirty forty fifty sixty seventy eighty ninety"
OHS: Final = "oh o"
"""What people say for zero inside a row of digits."""
HUNDRED_SAID: Final = "hundred"
THOUSAND_SAID: Final = "thousand"
POINT_SAID: Final = "point"
HALF: Final = "half"
AND_A_HALF: Final = f"{AND} a {HALF}"

POUNDS: Final = "pounds pound lbs lb"
TONS: Final = "tons ton"
MINUTES: Final = "minutes minute"
HOURS: Final = "hours hour"
VOLTS: Final = "volts volt"
FEET: Final = "feet foot"
"""Units that are asked for and said in answers, the plural first."""

SMALL: Final[dict[str, int]] = (
    {word: value for value, word in enumerate(f"{DIGITS} {TEENS}".split())}
    | {word: 20 + 10 * step for step, word in enumerate(TENS.split())}
    | {"fourty": 40, "nought": 0, "naught": 0, "niner": 9}
)
"""Words for 0 to 90, with a common misspelling and the radio's "niner"."""

PARTS: Final[dict[str, Fraction]] = {
    f"{word}{ending}": Fraction(1, below)
    for word, below in (
        ("quarter", 4), ("fourth", 4), ("third", 3), ("eighth", 8), ("tenth", 10),
        ("sixteenth", 16),
    )
    for ending in ("", "s")
} | {HALF: Fraction(1, 2), "halves": Fraction(1, 2)}  # fmt: skip
"""Words for the lower part of a fraction."""

NUMBER: Final[dict[str, Atom]] = (
    SMALL
    | PARTS
    | {HUNDRED_SAID: HUNDRED, THOUSAND_SAID: THOUSAND, "grand": THOUSAND, "k": THOUSAND}
    | dict.fromkeys(
        vocabulary("million billion dozen dozens hundreds thousands something"), UNREADABLE
    )
)
"""What each word adds to a number already begun."""

STARTS: Final = frozenset(SMALL) | {HUNDRED_SAID, THOUSAND_SAID, HALF, "quarter", "couple"}
"""Words a number can begin with, other than digits."""

AFTER_A: Final = frozenset(PARTS) | {HUNDRED_SAID, THOUSAND_SAID, "couple", "grand"}
"""Words that make an "a" or "an" before them the start of a number."""

SOUNDS_LIKE_DIGIT: Final[dict[str, int]] = {
    "for": 4, "fore": 4, "to": 2, "too": 2, "won": 1, "ate": 8, "tree": 3, "fife": 5,
}  # fmt: skip
"""Words that recognisers and phones write for a digit; they count only inside a number."""

OH: Final = vocabulary(OHS)
TIMES: Final[dict[str, int]] = {"double": 2, "triple": 3}

TEEN_TY: Final[dict[str, str]] = {
    "thirteen": "thirty", "fourteen": "forty", "fifteen": "fifty", "sixteen": "sixty",
    "seventeen": "seventy", "eighteen": "eighty", "nineteen": "ninety",
}  # fmt: skip
"""Words that sound alike."""
TY_TEEN: Final[dict[str, str]] = {ty: teen for teen, ty in TEEN_TY.items()}

SOUNDS_ONLY: Final = vocabulary("uh um er erm ah hmm hm eh")
"""Hesitations: dropped by the tokeniser, since people make them inside numbers."""

APPROXIMATE: Final = vocabulary(
    "about around roughly approximately approx nearly almost over under above below near "
    "maybe like circa some say probably than least most quite perhaps bout ~"
)
"""Words before a number that make it approximate."""

APPROXIMATE_LEAD: Final = vocabulary(
    "a bit little touch hair tad just well way slightly somewhere more less no not at the very"
)
"""Words before any of the words above that belong to it."""

CLOSE_TO: Final = vocabulary("close up next near")
"""Words that make the "to" after them approximate: "close to"."""

APPROXIMATE_TAIL: Final[tuple[tuple[str, ...], ...]] = (
    ("give", "or", "take"), ("or", "so"), ("or", "thereabouts"), ("or", "more"), ("or", "less"),
    ("more", "or", "less"), ("and", "change"), ("and", "a", "bit"), ("ish",), ("odd",), ("plus",),
    ("+",), ("approx",), ("approximately",), ("roughly",), ("thereabouts",),
)  # fmt: skip
"""Words after a number that make it approximate."""

LABELS: Final = vocabulary(
    "past after till til $ unit truck bay lane exit route highway number mile marker job class"
)
"""Words before a number without a unit that make it a name or a time, not a quantity."""

NOT: Final = vocabulary("not isn't wasn't never ain't aren't doesn't")
MINUS: Final = vocabulary("minus negative")

RANGE: Final = vocabulary("to - through thru")
EITHER: Final = vocabulary("or and plus")
PAUSE: Final = vocabulary(", .")

CORRECTION: Final = vocabulary(
    "or no nope sorry wait i mean meant make that it it's is actually correction rather "
    "scratch not maybe say should be oops strike hold on and then ago , . -"
)
"""Words allowed between a quantity and its correction."""

FILLER: Final = vocabulary(
    "it it's its is was that that's this the a an i i'd i'm think reckon guess believe say "
    "said says saying would be well so ok okay yeah please weighs weight weighing weighed "
    "scale ticket reads reading shows showing read total vehicle car he she they we we're got "
    "get at of on like maybe probably about then me to looks have has here there measures "
    "measured ago tall high long wide deep away heavy oh just , . - must been since for right "
    "around from"
)
"""Words around an answer that do not change it."""

OTHER_UNITS: Final = vocabulary(
    "% percent degree degrees mph kph psi bar amp amps amperes watt watts kw kwh kilowatt "
    "kilowatts hp horsepower gallon gallons litre litres liter liters ounce ounces oz gram "
    "grams g newton newtons kn stone hundredweight cwt dollar dollars bucks door doors wheel "
    "wheels wd seats seater year years week weeks month months people persons passengers guys "
    "cars trucks tires tyres times o'clock oclock am pm past hz ohm ohms rpm m straps chains "
    "chocks points photos pictures axle axles cylinder cylinders cells bars st nd rd th x"
)
"""Words after a number that make it a quantity this grammar does not know."""
