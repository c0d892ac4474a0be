"""Personal values: a salted commitment in the entry, the value itself in a side table.

A lawful erasure deletes the side row; the chain can still be checked.
"""

import hashlib
import hmac
import secrets
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from bot.record.canonical import canonical, is_list
from bot.record.chain import commitment_to
from bot.record.errors import RESERVED_KEY, CanonicalError

COMMITMENT = "commitment"
"""The key that marks a commitment in an entry."""

_NOTHING_INSIDE = frozenset({str, int, bool, type(None)})

Salt = Callable[[int, int, int], str]
"""From job, entry and the value's index in the entry (all from 0) to a salt."""

Lookup = Callable[[str], tuple[str, Any] | None]
"""From a commitment to its salt and value, or None if they were erased."""


@dataclass(frozen=True, slots=True)
class Secret:
    """A personal value with its salt, as in the side table."""

    digest: str
    salt: str
    value: str
    """The value in canonical JSON."""


def random_salt(job: int, seq: int, index: int) -> str:
    """Draw 128 random bits, whatever the arguments.

    Examples
    --------
    >>> len(random_salt(1, 0, 0)), random_salt(1, 0, 0) == random_salt(1, 0, 0)
    (32, False)
    """
    del job, seq, index
    return secrets.token_hex(16)


def seeded_salt(seed: str) -> Salt:
    """Derive every salt from a seed, so that a scripted run repeats byte for byte.

    Anyone who knows the seed can guess values: for scripts only.

    Examples
    --------
    >>> salt = seeded_salt("1")
    >>> salt(7, 0, 0) == seeded_salt("1")(7, 0, 0), salt(7, 0, 0) == salt(7, 0, 1)
    (True, False)
    """

    def salt(job: int, seq: int, index: int) -> str:
        position = f"{job}/{seq}/{index}".encode()
        return hmac.new(seed.encode(), position, hashlib.sha256).hexdigest()[:32]

    return salt


def conceal(body: Mapping[str, object], salt: Callable[[int], str]) -> tuple[Any, list[Secret]]:
    """Replace every personal value in a body, at any depth, by its commitment.

    Parameters
    ----------
    body
        The entry's body; a personal value is any object with a ``private_value``.
    salt
        From the value's index (from 0, keys in sorted order) to its salt.

    Returns
    -------
    tuple
        The body for the entry, and the side rows.

    Raises
    ------
    CanonicalError
        If the body has the reserved key, or a value that an entry cannot contain.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> body = {"colour": "red", "plate": SimpleNamespace(private_value="ABC 123")}
    >>> shown, secrets = conceal(body, lambda index: "00")
    >>> shown["colour"], list(shown["plate"]), secrets[0].value
    ('red', ['commitment'], '"ABC 123"')
    """
    found: list[Secret] = []

    def walk(value: Any) -> Any:  # noqa: ANN401  a body nests freely
        if type(value) in _NOTHING_INSIDE:
            return value
        if hasattr(value, "private_value"):
            found.append(_secret(salt(len(found)), value.private_value))
            return {COMMITMENT: found[-1].digest}
        if isinstance(value, Mapping):
            if COMMITMENT in value:
                raise CanonicalError(RESERVED_KEY, value=COMMITMENT)
            return {
                key: one if type(one := value[key]) in _NOTHING_INSIDE else walk(one)
                for key in sorted(value, key=str)
            }
        if is_list(value):
            return [walk(item) for item in value]
        return value

    return walk(body), found


def reveal(value: Any, lookup: Lookup) -> Any:  # noqa: ANN401  a body nests freely
    """Add the kept values to their commitments, at any depth.

    An erased value is None, with ``erased`` true.

    Examples
    --------
    >>> reveal({"plate": {"commitment": "ab"}}, lambda digest: ("00", "ABC 123"))
    {'plate': {'commitment': 'ab', 'value': 'ABC 123'}}
    >>> reveal({"plate": {"commitment": "ab"}}, lambda digest: None)
    {'plate': {'commitment': 'ab', 'value': None, 'erased': True}}
    """
    if isinstance(value, list):
        return [reveal(item, lookup) for item in value]
    if not isinstance(value, dict):
        return value
    if COMMITMENT not in value:
        return {key: reveal(item, lookup) for key, item in value.items()}
    kept = lookup(value[COMMITMENT])
    return (
        {**value, "value": None, "erased": True} if kept is None else {**value, "value": kept[1]}
    )


def commitments(value: object) -> Iterator[str]:
    """Yield every commitment in a body, at any depth.

    Examples
    --------
    >>> list(commitments({"a": [{"commitment": "ab"}], "b": {"commitment": "cd"}}))
    ['ab', 'cd']
    """
    if isinstance(value, dict):
        if COMMITMENT in value:
            yield value[COMMITMENT]
        value = list(value.values())
    if isinstance(value, list):
        for item in value:
            yield from commitments(item)


def _secret(salt: str, value: object) -> Secret:
    written = canonical(value).decode("utf-8")
    return Secret(commitment_to(salt, written), salt, written)
