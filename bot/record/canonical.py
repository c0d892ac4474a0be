"""The canonical form of an entry: RFC 8785 bytes, with fewer types than JSON allows.

Stricter than the RFC: no floats and only ASCII keys. Any JSON reader in any language then reads
the same values, and sorting does not depend on UTF-16.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NoReturn, cast

from bot.record.errors import (
    BAD_KEY,
    BAD_TYPE,
    BIG_INTEGER,
    DUPLICATE_KEY,
    FLOAT,
    NOT_JSON,
    NOT_OBJECT,
    CanonicalError,
)

MAX_INTEGER = 2**53 - 1
"""Largest integer that every JSON reader keeps exactly (RFC 7493 section 2.2)."""

_PLAIN_TYPES = frozenset({str, bool, type(None)})
_SHOWN = 60
_DIGITS = len(str(MAX_INTEGER))


def canonical(value: object) -> bytes:
    """Write a value in canonical form.

    Parameters
    ----------
    value
        Mappings with ASCII string keys, sequences, text, integers of at most 2**53 - 1 in
        size, booleans and None, nested freely.

    Returns
    -------
    bytes
        UTF-8, keys sorted, no white space.

    Raises
    ------
    CanonicalError
        For a float, a larger integer, a non-ASCII key, a lone surrogate or any other type.

    Examples
    --------
    >>> canonical({"b": [1, True, None], "a": "pin"})
    b'{"a":"pin","b":[1,true,null]}'

    Source
    ------
    RFC 8785 (JSON Canonicalization Scheme). Without floats and with ASCII keys, the standard
    library's sorted keys without white space give the same bytes; the tests compare them with
    the rfc8785 library and the RFC's own examples.
    """
    try:
        _check(value)
        return _ENCODER.encode(value).encode("utf-8")
    except (UnicodeEncodeError, RecursionError) as error:
        raise CanonicalError(BAD_TYPE, value=_short(value)) from error


def parse(line: str | bytes) -> dict[str, Any]:
    """Read a line of the record.

    This does not check that the line is canonical: `bot.record.chain` does.

    Raises
    ------
    CanonicalError
        If it is not a single JSON object, repeats a key, or contains a float, NaN, an infinity
        or an integer of more than 2**53 - 1 in size.

    Examples
    --------
    >>> parse('{"seq": 0, "kind": "opened"}')
    {'seq': 0, 'kind': 'opened'}
    """
    try:
        text = line if isinstance(line, str) else line.decode("utf-8")
        value = _DECODER.decode(text)
    except (ValueError, RecursionError) as error:
        raise CanonicalError(NOT_JSON, value=_short(line), why=error) from error
    if not isinstance(value, dict):
        raise CanonicalError(NOT_OBJECT, value=_short(line))
    return value


def plain(value: object) -> str:
    r"""Write a message, a reply or a timer, which are not entries, as repeatable JSON.

    Unlike an entry, it may contain floats and any text that a platform sends. Keys are sorted,
    and the output is ASCII.

    Raises
    ------
    CanonicalError
        If it cannot be JSON; neither NaN nor an infinity can.

    Examples
    --------
    >>> plain({"lon": -104.99, "lat": 39.74, "label": "é"})
    '{"label":"\\u00e9","lat":39.74,"lon":-104.99}'
    """
    try:
        return _PLAIN.encode(value)
    except (TypeError, ValueError, RecursionError) as error:
        raise CanonicalError(BAD_TYPE, value=_short(value)) from error


def _check(value: object) -> None:
    """Refuse values that no entry may contain, at any depth.

    Nearly all values are of the six built-in types. Comparing the type itself takes a fifth of
    the time that asking an abstract class takes, and a call for each value takes most of it.
    """
    kind = type(value)
    if kind is dict:
        _check_keys(cast("dict[object, object]", value))
        _check_each(cast("dict[object, object]", value).values())
    elif kind is list:
        _check_each(cast("list[object]", value))
    elif kind is int:
        _integer(cast("int", value))
    elif kind not in _PLAIN_TYPES:
        _check_other(value)


def _check_keys(keys: Iterable[object]) -> None:
    for key in keys:
        if type(key) is not str or not key.isascii():
            _key(key)


def _check_each(values: Iterable[object]) -> None:
    for value in values:
        if type(value) not in _PLAIN_TYPES:
            _check(value)


def _check_other(value: object) -> None:
    """Refuse values that no entry may contain, among types other than the six built-in ones."""
    if isinstance(value, int):
        _integer(value)
    elif isinstance(value, Mapping):
        _check(dict(value))
    elif is_list(value):
        _check(list(cast("Sequence[object]", value)))
    elif not isinstance(value, str):
        raise CanonicalError(FLOAT if isinstance(value, float) else BAD_TYPE, value=_short(value))


def is_list(value: object) -> bool:
    """Say whether a value is written as a JSON array: a sequence that is neither text nor bytes.

    Examples
    --------
    >>> is_list(("a", 1)), is_list("a"), is_list(b"a")
    (True, False, False)
    """
    return isinstance(value, Sequence) and not isinstance(value, (str, bytes, bytearray))


def _written(value: object) -> dict[str, Any] | list[Any]:
    """Return any other mapping as a dict, and any other sequence as a list."""
    return dict(value) if isinstance(value, Mapping) else list(cast("Sequence[Any]", value))


def _integer(value: int) -> int:
    if abs(value) > MAX_INTEGER:
        raise CanonicalError(BIG_INTEGER, value=value)
    return value


def _key(key: object) -> str:
    if isinstance(key, str) and key.isascii():
        return key
    raise CanonicalError(BAD_KEY, value=_short(key))


def _short(value: object) -> str:
    text = repr(value)
    return text if len(text) <= _SHOWN else text[:_SHOWN] + "…"


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise CanonicalError(DUPLICATE_KEY, value=_short(key))
        found[_key(key)] = value
    return found


def _refuse_float(text: str) -> NoReturn:
    raise CanonicalError(FLOAT, value=_short(text))


def _read_integer(text: str) -> int:
    if len(text.lstrip("-")) > _DIGITS:
        raise CanonicalError(BIG_INTEGER, value=_short(text))
    return _integer(int(text))


_ENCODER = json.JSONEncoder(
    sort_keys=True,
    separators=(",", ":"),
    ensure_ascii=False,
    allow_nan=False,
    default=_written,
)
_PLAIN = json.JSONEncoder(sort_keys=True, separators=(",", ":"), allow_nan=False)
_DECODER = json.JSONDecoder(
    object_pairs_hook=_pairs,
    parse_float=_refuse_float,
    parse_constant=_refuse_float,
    parse_int=_read_integer,
)
