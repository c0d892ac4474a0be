"""Vehicle numbers against published examples.

The expected values are the VIN rows of the project's check values, copied into ``data/vin.csv``
with their source, locator and confidence. The model-year rows take the block from the seventh
character, as the two last rows say. Every row is used.
"""

import csv
import re
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings, strategies as st

from flows.figures.vin import (
    LOOKS_LIKE,
    SOUNDS_LIKE,
    VALUES,
    WEIGHTS,
    YEAR_CODES,
    VinError,
    candidates,
    check_digit,
    clean,
    examine,
    is_consistent,
    model_years,
    weighted_sum,
)
from flows.measures.spelled import LETTERS, spelled

TABLE = Path(__file__).parent / "data" / "vin.csv"
ROWS = list(csv.DictReader(TABLE.read_text("utf-8").splitlines()))
USED = {
    "sum": "weighted sum / check digit",
    "invalid": "invalid: one character changed",
    "letters": "letters never allowed",
    "years": "characters not used for model year",
    "year": "model year code position 10",
    "block": "30-year block, passenger car or light truck <=10000 lb GVWR",
}
PUBLISHED = [row["inputs"] for row in ROWS if row["quantity"] == USED["sum"]]
NUMBERS = st.text(alphabet="".join(VALUES), min_size=17, max_size=17)


def rows(kind: str) -> pytest.MarkDecorator:
    found = [row for row in ROWS if row["quantity"] == USED[kind]]
    ids = [f"{row['source']}: {row['inputs']} {row['expected']}" for row in found]
    return pytest.mark.parametrize("row", found, ids=ids)


def test_every_row_is_used() -> None:
    assert {row["quantity"] for row in ROWS} == set(USED.values())
    assert len(ROWS) == 22


@rows("sum")
def test_sum_and_check_digit(row: dict[str, str]) -> None:
    total, digit = row["expected"].split(" / ")
    assert weighted_sum(row["inputs"]) == int(total), row["source"]
    assert check_digit(row["inputs"]) == digit, row["source"]
    assert examine(row["inputs"], is_light=False).problems == (), row["source"]


@rows("invalid")
def test_one_character_changed(row: dict[str, str]) -> None:
    # The row says: not valid, the check digit should be 3.
    assert check_digit(row["inputs"]) == re.findall(r"be (\w)", row["expected"])[0]
    found = examine(row["inputs"], is_light=False)
    assert found.problems == ("check_digit",), row["source"]


@rows("letters")
def test_letters_never_allowed(row: dict[str, str]) -> None:
    for letter in row["expected"].split():
        for place in range(17):
            text = PUBLISHED[0][:place] + letter + PUBLISHED[0][place + 1 :]
            assert "letter" in examine(text, is_light=False).problems, row["source"]
            with pytest.raises(VinError, match="without I, O and Q"):
                weighted_sum(text)
    allowed = set("ABCDEFGHIJKLMNOPQRSTUVWXYZ") - set(row["expected"].split())
    assert allowed == {one for one in VALUES if one.isalpha()}


@rows("years")
def test_characters_without_a_year(row: dict[str, str]) -> None:
    unused = set(row["expected"].split())
    every = set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789")
    assert {one for one in every if not model_years("1" * 9 + one, is_light=False)} == unused
    for one in unused:
        found = examine("1" * 9 + one + "1" * 7, is_light=False)
        assert "year_code" in found.problems, row["source"]


@rows("year")
def test_model_year(row: dict[str, str]) -> None:
    year = int(row["inputs"].removeprefix("year="))
    seventh = "1" if year < 2010 else "A"
    text = f"111111{seventh}11{row['expected']}1111111"
    assert model_years(text, is_light=True) == (year,), row["source"]
    assert year in model_years(text, is_light=False)


@rows("block")
def test_thirty_year_block(row: dict[str, str]) -> None:
    first, last = map(int, row["expected"].split("-"))
    seventh = {"numeric": "123456789", "alphabetic": "ABCDEFGHJKLMNPRSTUVWXYZ"}
    for one in seventh[row["inputs"].split()[-1]]:
        years = [model_years(f"111111{one}11{code}", is_light=True) for code in YEAR_CODES]
        assert years == [(year,) for year in range(first, last + 1)], row["source"]


@pytest.mark.parametrize("place", [1, 8, 9, 17])
@pytest.mark.parametrize("text", PUBLISHED)
def test_a_misread_character_is_offered_and_not_put_in(text: str, place: int) -> None:
    right = text[place - 1]
    for wrong in LOOKS_LIKE.get(right, ""):
        misread = text[: place - 1] + wrong + text[place:]
        found = examine(misread, is_light=False)
        assert found.text == misread
        if is_consistent(misread):
            assert found.candidates == ()
        else:
            assert text in found.candidates


@pytest.mark.parametrize(
    ("wrong", "right"),
    [("I" * 17, "1" * 17), ("11111111I11111111", "1" * 17)],
)
def test_letters_that_cannot_be_are_replaced_together(wrong: str, right: str) -> None:
    assert candidates(wrong) == (right,)


def test_letters_that_cannot_be_may_leave_nothing() -> None:
    # With its second character lost the published example cannot come from I, O and Q alone.
    assert candidates("IZ8GDM9AXKP042788") == ()


PAIRS_OF_THE_BRIEF = ("S5", "B8", "Z2", "G6", "D0", "UV")


@pytest.mark.parametrize("pair", PAIRS_OF_THE_BRIEF)
def test_characters_that_look_alike(pair: str) -> None:
    one, other = pair
    assert other in LOOKS_LIKE[one]
    assert one in LOOKS_LIKE[other]


def test_characters_that_sound_alike() -> None:
    # The letters that rhyme with "bee", and M with N: common practice, no source.
    for one in "CDEGPTVZ":
        assert one in SOUNDS_LIKE["B"]
    assert SOUNDS_LIKE["M"] == "N"
    heard = PUBLISHED[0].replace("M", "N", 1)
    assert PUBLISHED[0] in candidates(heard, SOUNDS_LIKE)
    assert PUBLISHED[0] not in candidates(heard)


@pytest.mark.parametrize(
    ("text", "problems"),
    [
        ("", ("length",)),
        ("1" * 16, ("length",)),
        ("1" * 18, ("length",)),
        ("1111111111111111?", ("character",)),
        ("1111111111111111\u00e9", ("character",)),
        ("1111111111111111\u0661", ("character",)),
        ("I" * 17, ("letter", "year_code")),
        ("11111111111111112", ("check_digit",)),
        ("1111111110111111", ("length",)),
    ],
)
def test_problems_are_named_and_nothing_is_refused(text: str, problems: tuple[str, ...]) -> None:
    assert examine(text, is_light=True).problems == problems


def test_error_says_what_is_allowed_and_what_next() -> None:
    with pytest.raises(VinError) as error:
        weighted_sum("4600 lb")
    assert str(error.value) == (
        "vehicle number is 4600 lb; allowed: 17 digits and letters without I, O and Q. "
        "Read the plate again, one character at a time."
    )


def test_north_america_by_the_first_character() -> None:
    # From memory: 1, 4, 5 United States, 2 Canada, 3 Mexico. L and V are others.
    for one in "12345":
        assert examine(one + "1" * 16, is_light=True).is_north_american
    for text in ("L" + "1" * 16, "V" + "1" * 16, ""):
        assert not examine(text, is_light=True).is_north_american


# A second solution: the sum by the printed tables, character by character, in floats.
@given(NUMBERS)
def test_sum_by_other_means(text: str) -> None:
    printed = "A1 B2 C3 D4 E5 F6 G7 H8 J1 K2 L3 M4 N5 P7 R9 S2 T3 U4 V5 W6 X7 Y8 Z9".split()  # noqa: SIM905
    value = {one[0]: float(one[1]) for one in printed} | {d: float(d) for d in "0123456789"}
    weights = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2]
    total = 0.0
    for place in range(17):
        total += value[text[place]] * weights[place]
    assert weighted_sum(text) == total


@given(NUMBERS, st.integers(0, 16), st.sampled_from("".join(VALUES)))
def test_changes_that_the_check_digit_detects(text: str, place: int, other: str) -> None:
    """It sees every single change but to a character that counts the same, modulo 11."""
    right = text[:8] + check_digit(text) + text[9:]
    changed = right[:place] + other + right[place + 1 :]
    if place == 8:
        assert is_consistent(changed) == (changed == right)
    else:
        same = (VALUES[other] - VALUES[right[place]]) * WEIGHTS[place] % 11 == 0
        assert is_consistent(changed) == same


@given(st.text(max_size=40))
@settings(max_examples=500)
def test_nothing_raises_and_every_candidate_is_one_misreading_away(text: str) -> None:
    found = examine(text, is_light=True)
    for one in found.candidates:
        assert is_consistent(one)
        differs = sum(a != b for a, b in zip(one, found.text, strict=True))
        assert differs == 1 or any(letter in found.text for letter in "IOQ")


@given(NUMBERS, st.sampled_from("".join(LOOKS_LIKE)), st.integers(0, 16))
def test_candidates_hold_what_was_misread(text: str, one: str, place: int) -> None:
    text = text[:place] + one + text[place + 1 :]
    text = text[:8] + check_digit(text) + text[9:]
    for wrong in LOOKS_LIKE.get(text[place], ""):
        misread = text[:place] + wrong + text[place + 1 :]
        assert is_consistent(misread) or text in candidates(misread)


# Spoken


NATO = {
    "A": "alpha", "B": "bravo", "C": "charlie", "D": "delta", "E": "echo", "F": "foxtrot",
    "G": "golf", "H": "hotel", "J": "juliett", "K": "kilo", "L": "lima", "M": "mike",
    "N": "november", "P": "papa", "R": "romeo", "S": "sierra", "T": "tango", "U": "uniform",
    "V": "victor", "W": "whiskey", "X": "x-ray", "Y": "yankee", "Z": "zulu", "0": "zero",
    "1": "one", "2": "two", "3": "three", "4": "four", "5": "five", "6": "six", "7": "seven",
    "8": "eight", "9": "niner",
}  # fmt: skip
"""The radiotelephony alphabet (ITU Radio Regulations appendix 14), from memory."""


@given(NUMBERS, st.lists(st.booleans(), min_size=17, max_size=17))
def test_a_spelled_number_comes_back(text: str, by_name: list[bool]) -> None:
    """Phonetic words, letters and figures mixed in any way."""
    said = " ".join(
        NATO[one] if named else one.lower() for one, named in zip(text, by_name, strict=True)
    )
    assert spelled(said, 17).unread == ()
    assert text in spelled(said, 17).readings
    assert len(spelled(said, 17).readings) == 1


@pytest.mark.parametrize(
    ("said", "wanted"),
    [
        ("one mike eight golf delta mike nine alpha x-ray kilo papa zero four two seven eight "
         "eight", {"1M8GDM9AXKP042788"}),
        ("1 M 8 G D M 9 A X K P 0 4 2 7 8 8", {"1M8GDM9AXKP042788"}),
        ("1m8gdm9axkp042788", {"1M8GDM9AXKP042788"}),
        ("the vin is 1M8-GDM9AX-KP042788.", {"1M8GDM9AXKP042788"}),
        ("one em ate gee dee em niner a ex kay pee oh for too seven double eight",
         {"1M8GDM9AXKP042788"}),
        ("won mike eight, g as in george, d for david, mike nine adam xray king paul, "
         "oh four two, seven eight eight", {"1M8GDM9AXKP042788"}),
        ("1m8 gdm 9 alpha x kilo papa 042 788", {"1M8GDM9AXKP042788"}),
        ("one mike eight golf delta mike nine alpha x ray kilo papa oh four two seven eighty "
         "eight", {"1M8GDM9AXKP042788"}),
        ("triple one triple one triple one triple one triple one double one", {"1" * 17}),
        ("double you", {"W"}),
        ("double u", {"W"}),
        ("eighty eight", {"88", "808"}),
        ("fifteen", {"15"}),
        ("victor four", {"V4"}),
        ("v for victor four", {"V4"}),
        ("v four victor", {"V4V"}),
        ("india oscar quebec", {"IOQ"}),
        ("", set()),
    ],
)  # fmt: skip
def test_spelled(said: str, wanted: set[str]) -> None:
    found = spelled(said, 17)
    assert set(found.readings) == wanted
    assert found.unread == ()


@pytest.mark.parametrize(
    ("said", "reading", "unread"),
    [
        ("one mike maybe eight", "1M8", ("maybe",)),
        ("smoke under the hood", "", ("smoke", "under", "hood")),
        ("no seven", "7", ("no",)),
    ],
)
def test_unread_words_are_told(said: str, reading: str, unread: tuple[str, ...]) -> None:
    found = spelled(said)
    assert found.readings == ((reading,) if reading else ())
    assert found.unread == unread


def test_no_word_means_two_letters() -> None:
    for word, letter in LETTERS.items():
        assert len(letter) == 1
        if len(word) > 5:
            assert word[0].upper() == letter or word == "doubleyou"


@given(st.text(max_size=80), st.sampled_from([None, 17]))
@settings(max_examples=500)
def test_spelled_never_raises_and_makes_only_letters_and_digits(
    text: str, length: int | None
) -> None:
    found = spelled(text, length)
    assert len(found.readings) <= 64
    for one in found.readings:
        examine(one, is_light=False)
        assert one == clean(one)


def test_long_texts_are_cut_and_bounded() -> None:
    found = spelled("eighty eight " * 10_000, 17)
    assert len(found.readings) == 64
    assert all(a != b for a, b in pairwise(found.readings))
