"""The canonical form against RFC 8785's own vectors, and the values that the record refuses."""

import json
import struct
from collections import OrderedDict
from collections.abc import Callable
from typing import Any

import pytest
import rfc8785
from hypothesis import given, strategies as st

from bot.record.canonical import MAX_INTEGER, canonical, parse, plain
from bot.record.errors import (
    BAD_KEY,
    BAD_TYPE,
    BIG_INTEGER,
    DUPLICATE_KEY,
    FLOAT,
    NOT_JSON,
    NOT_OBJECT,
    CanonicalError,
    Words,
)

# RFC 8785 section 3.2.2 (the sample) and 3.2.4 (its canonical form as UTF-8 bytes).
SAMPLE = r"""{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}"""
SAMPLE_BYTES = bytes.fromhex(
    "7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72"
    "75 65 2c 66 61 6c 73 65 5d 2c 22 6e 75 6d 62 65 72 73 22 3a"
    "5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 2c 31"
    "65 2b 33 30 2c 34 2e 35 2c 30 2e 30 30 32 2c 31 65 2d 32 37"
    "5d 2c 22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24 5c 75 30 30"
    "30 66 5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22 7d"
)

# RFC 8785 appendix B, the finite rows: the bits of a double, and how it is written.
APPENDIX_B = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]

ENTRIES = st.recursive(
    st.none() | st.booleans() | st.integers(-MAX_INTEGER, MAX_INTEGER) | st.text(),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(st.characters(max_codepoint=127), max_size=8), inner, max_size=4)
    ),
    max_leaves=12,
)


def double(bits: str) -> float:
    return float(struct.unpack(">d", bytes.fromhex(bits))[0])


def refusal(call: Callable[[Any], object], value: object) -> CanonicalError:
    with pytest.raises(CanonicalError) as caught:
        call(value)
    return caught.value


def test_rfc_8785_section_3_2_4_bytes_of_the_library() -> None:
    assert rfc8785.dumps(json.loads(SAMPLE)) == SAMPLE_BYTES


def test_rfc_8785_section_3_2_4_bytes_without_its_floats() -> None:
    sample = json.loads(SAMPLE)
    del sample["numbers"]
    numbers = SAMPLE_BYTES.index(b'"numbers"')
    string = SAMPLE_BYTES.index(b'"string"')
    assert canonical(sample) == SAMPLE_BYTES[:numbers] + SAMPLE_BYTES[string:]


def test_rfc_8785_section_3_2_3_order_of_its_ascii_keys() -> None:
    # The RFC sorts carriage return, one, control, ö, euro, emoji, dalet: only two are ASCII.
    sample = {"1": "One", "\r": "Carriage Return"}
    assert canonical(sample) == rb'{"\r":"Carriage Return","1":"One"}'


@pytest.mark.parametrize(("bits", "written"), APPENDIX_B)
def test_rfc_8785_appendix_b_is_written_by_the_library_and_refused_by_the_record(
    bits: str, written: str
) -> None:
    assert rfc8785.dumps(double(bits)) == written.encode()
    assert refusal(canonical, {"n": [double(bits)]}).words is FLOAT


@pytest.mark.parametrize("bits", ["7fffffffffffffff", "7ff0000000000000", "fff0000000000000"])
def test_rfc_8785_appendix_b_nan_and_infinity_refuse(bits: str) -> None:
    # The two positive rows are the RFC's; the negative infinity is ours.
    assert refusal(canonical, double(bits)).words is FLOAT


def test_integers_end_where_rfc_7493_section_2_2_ends_them() -> None:
    # RFC 7493 (I-JSON) section 2.2: exact from -(2**53)+1 to (2**53)-1.
    assert canonical([9007199254740991, -9007199254740991]) == (
        b"[9007199254740991,-9007199254740991]"
    )
    for outside in (9007199254740992, -9007199254740992):
        error = refusal(canonical, {"ns": outside})
        assert error.words is BIG_INTEGER
        assert str(outside) in str(error)
        assert refusal(parse, f'{{"ns":{outside}}}').words is BIG_INTEGER


@given(ENTRIES)
def test_another_library_writes_the_same_bytes(value: object) -> None:
    # The rfc8785 library implements the whole RFC, with floats and UTF-16 order.
    assert canonical(value) == rfc8785.dumps(value)


@given(st.dictionaries(st.sampled_from(["job", "seq", "body", "by"]), ENTRIES))
def test_reading_gives_back_what_was_written(entry: dict[str, object]) -> None:
    assert parse(canonical(entry)) == entry


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ({"é": 1}, BAD_KEY),
        ({1: 1}, BAD_KEY),
        ({"a": {None: 1}}, BAD_KEY),
        ("\ud800", BAD_TYPE),
        (b"bytes", BAD_TYPE),
        ({1, 2}, BAD_TYPE),
        (object(), BAD_TYPE),
    ],
)
def test_a_value_that_no_entry_can_contain_is_refused(value: object, words: Words) -> None:
    assert refusal(canonical, value).words is words


def test_any_mapping_and_sequence_is_written() -> None:
    assert canonical(OrderedDict(b=(1, 2), a=())) == b'{"a":[],"b":[1,2]}'


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('{"a":1,"a":1}', DUPLICATE_KEY),
        ('{"x":{"a":1,"b":2,"a":3}}', DUPLICATE_KEY),
        ('{"a":1.0}', FLOAT),
        ('{"a":1e3}', FLOAT),
        ('{"a":-0.0}', FLOAT),
        ('{"a":NaN}', FLOAT),
        ('{"a":[-Infinity]}', FLOAT),
        ('{"a":' + "9" * 5000 + "}", BIG_INTEGER),
        ('{"é":1}', BAD_KEY),
        ('{"a":1} {}', NOT_JSON),
        ("", NOT_JSON),
        ('{"a":1', NOT_JSON),
        (b'{"a":"\xff"}', NOT_JSON),
        ("[" * 100_000, NOT_JSON),
        ("[1]", NOT_OBJECT),
        ("null", NOT_OBJECT),
    ],
)
def test_a_line_in_another_form_is_refused(line: str | bytes, words: Words) -> None:
    assert refusal(parse, line).words is words


def test_a_refusal_names_the_value_the_allowed_and_the_next_step() -> None:
    error = refusal(canonical, {"mass": 12.5})
    assert error.value == "12.5"
    assert "12.5" in error.what
    assert "integers" in error.allowed
    assert error.todo
    assert str(error) == f"{error.what} {error.allowed} {error.todo}"


def test_a_long_value_is_shortened() -> None:
    assert len(str(refusal(parse, "x" * 100_000))) < 400


@given(st.dictionaries(st.text(), ENTRIES | st.floats(allow_nan=False, allow_infinity=False)))
def test_a_message_keeps_everything_that_a_platform_sends(body: dict[str, object]) -> None:
    assert json.loads(plain(body)) == body
    assert plain(dict(reversed(body.items()))) == plain(body)


def test_a_message_keeps_even_a_lone_surrogate() -> None:
    assert json.loads(plain({"text": "\ud800"})) == {"text": "\ud800"}


@pytest.mark.parametrize("value", [float("nan"), float("inf"), {1, 2}])
def test_a_message_that_cannot_be_json_is_refused(value: object) -> None:
    assert refusal(plain, {"a": value}).words is BAD_TYPE
