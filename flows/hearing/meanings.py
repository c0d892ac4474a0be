"""What acts, facts and steps mean by parts and states, and whether a clause says one of them.

A meaning covers a clause where every word of it is one of its states and parts or a small word
that explains itself. Nothing is dropped: one word more, and the clause means something else.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache, cached_property

from flows.hearing.clauses import BASE, DOING, Segment, bits, mendable
from flows.texts import meanings

_WRITTEN = re.compile(r"(?P<head>[!*+?=]*)(?P<parts>[^:]*):(?P<states>[^/]*)(?:/(?P<with>.*))?")
ALL = "&all"


@dataclass(frozen=True)
class Meaning:
    """One way in which an act, a fact's value or a step is said, by parts and states.

    Parameters
    ----------
    parts, states
        Of which something is said, any of them, and what, any of them.
    beside
        Other parts and states that may be named.
    both
        Parts of which all, states of which all are said.
    is_denied
        It is said by its denial: "nobody in the path".
    is_alone
        Its state says it at any time, without its part.
    needs_part
        Its part has to be said even where it is asked about.
    is_local
        It counts only while it is asked about.
    is_of_one
        It is of one alone: "all" and "both" are no words beside it.
    needs_all
        A word like "all four" has to be said.
    """

    parts: tuple[str, ...]
    states: tuple[str, ...]
    beside: tuple[str, ...] = ()
    both_parts: bool = False
    both_states: bool = False
    is_denied: bool = False
    is_alone: bool = False
    needs_part: bool = False
    is_local: bool = False
    is_of_one: bool = False
    needs_all: bool = False

    @cached_property
    def part_bits(self) -> int:
        """The bits of its parts; of a denied one, "nobody" is people too."""
        nobody = ("nobody",) if self.is_denied and "people" in self.parts else ()
        return _bits("part", (*self.parts, *nobody))

    @cached_property
    def state_bits(self) -> int:
        """The bits of its states; under a denial in any form of the verb."""
        found = _bits("state", self.states)
        return (
            found | _bits(BASE, self.states) | _bits(DOING, self.states)
            if self.is_denied
            else found
        )

    @cached_property
    def allowed(self) -> int:
        """The bits that its clause may hold."""
        small = ["light", "polite", "wholly"]
        small += ["denies"] if self.is_denied else []
        small += [] if self.is_of_one else ["all", "both"]
        return self.part_bits | self.state_bits | _either(self.beside) | _bits("small", small)

    @cached_property
    def about(self) -> int:
        """The bits of every part it is about."""
        return self.part_bits | _bits("part", (n for n in self.beside if f"part.{n}" in bits()))

    @cached_property
    def mends(self) -> frozenset[str]:
        """The words into which a slip is mended where this is expected."""
        names = [f"state.{one}" for one in self.states]
        names += [f"part.{one}" for one in (*self.parts, *self.beside) if f"part.{one}" in bits()]
        return frozenset().union(*(mendable(one) for one in names))


def written(meaning: str) -> Meaning:
    """Return a meaning as it is written in the file of meanings.

    Raises
    ------
    ValueError
        It is not written so.

    Examples
    --------
    >>> written("+hook|line : on / eye").needs_part, written("!people : present").is_denied
    (True, True)
    """
    found = _WRITTEN.fullmatch(meaning.replace(ALL, "").strip())
    if found is None:
        raise ValueError(f"no meaning: {meaning!r}")
    head, parts, states, beside = (found[one] or "" for one in ("head", "parts", "states", "with"))
    return Meaning(
        parts=tuple(_names(parts)),
        states=tuple(_names(states)),
        beside=tuple(_names(beside)),
        both_parts="+" in parts,
        both_states="&" in states,
        is_denied="!" in head,
        is_alone="*" in head,
        needs_part="+" in head,
        is_local="?" in head,
        is_of_one="=" in head,
        needs_all=ALL in meaning,
    )


def _names(listed: str) -> list[str]:
    return re.findall(r"[a-z_]+", listed)


def _bits(kind: str, names: Iterable[str]) -> int:
    return sum({bits()[f"{kind}.{name}"] for name in names})


def _either(names: Iterable[str]) -> int:
    """Return the bits of names that are parts or states."""
    found = 0
    for name in names:
        found |= bits().get(f"part.{name}", 0) | bits().get(f"state.{name}", 0)
    return found


@cache
def of(section: str, key: str) -> tuple[Meaning, ...]:
    """Return the meanings of an act, item or option, by its section of the file."""
    return tuple(written(one) for one in meanings()[section].get(key, ()))


@cache
def of_value(fact: str, value: str) -> tuple[Meaning, ...]:
    """Return the meanings of a value of a fact."""
    return tuple(written(one) for one in meanings()["facts"].get(fact, {}).get(value, ()))


# Whether a clause says it


def says(
    meaning: Meaning, found: tuple[tuple[Segment, ...], ...], *, asked: bool, also: int = 0
) -> bool:
    """Say whether every word of a clause is covered by a meaning, and it is all there.

    Parameters
    ----------
    asked
        It is asked about, so its part may be left out.
    also
        Bits that the clause may hold besides: how much of a fact it is.
    """
    allowed = meaning.allowed | also
    reached: list[set[int]] = [set() for _ in range(len(found) + 1)]
    reached[0].add(0)
    for at, segments in enumerate(found):
        for segment in segments if reached[at] else ():
            meant = segment.bits & allowed
            if meant:
                reached[at + segment.length].update(before | meant for before in reached[at])
    return any(_is_whole(meaning, covered, asked=asked) for covered in reached[-1])


def _is_whole(meaning: Meaning, covered: int, *, asked: bool) -> bool:
    return (
        _has_states(meaning, covered)
        and _has_parts(meaning, covered, asked=asked)
        and _is_denied_right(meaning, covered)
        and (not meaning.needs_all or bool(covered & _bits("small", ["all"])))
    )


def _has_states(meaning: Meaning, covered: int) -> bool:
    if not meaning.states:
        return True
    if meaning.both_states:
        return all(covered & bits()[f"state.{one}"] for one in meaning.states)
    return bool(covered & meaning.state_bits)


def _has_parts(meaning: Meaning, covered: int, *, asked: bool) -> bool:
    if meaning.both_parts:
        return all(covered & bits()[f"part.{one}"] for one in meaning.parts)
    return bool(covered & meaning.part_bits) or _goes_without_part(meaning, asked=asked)


def _goes_without_part(meaning: Meaning, *, asked: bool) -> bool:
    """Say whether a meaning is there by its state alone."""
    if meaning.is_alone:
        return True
    if not meaning.parts:
        return asked
    return asked and bool(meaning.states) and not meaning.needs_part


def _is_denied_right(meaning: Meaning, covered: int) -> bool:
    nobody = bits()["part.nobody"] & meaning.part_bits
    return not meaning.is_denied or bool(covered & (bits()["small.denies"] | nobody))


def hints(meaning: Meaning, found: tuple[tuple[Segment, ...], ...]) -> bool:
    """Say whether a clause names a state of a meaning, among whatever other words."""
    return any(segment.bits & meaning.state_bits for segments in found for segment in segments)


def names(about: int, found: tuple[tuple[Segment, ...], ...]) -> bool:
    """Say whether a clause names any of these parts."""
    return any(segment.bits & about for segments in found for segment in segments)


def names_foreign(
    meanings: Iterable[Meaning], found: tuple[tuple[Segment, ...], ...], also: int = 0
) -> bool:
    """Say whether a clause surely names a part that none of these meanings is about.

    Parameters
    ----------
    also
        Bits of parts that are no other's besides.
    """
    about = also
    for one in meanings:
        about |= one.about
    told = about | _told()
    return bool(about) and any(
        one.bits & every_part() and not one.bits & told for one in longest(found)
    )


@cache
def _told() -> int:
    """Return the bits of states and of small words; a verb's base tells of nothing done."""
    return sum(bit for name, bit in bits().items() if name.startswith(("state.", "small.")))


def longest(found: tuple[tuple[Segment, ...], ...]) -> Iterator[Segment]:
    """Yield the longest phrase at each place of a clause, one after the other."""
    at = 0
    while at < len(found):
        here = found[at][:1]
        yield from here
        at += here[0].length if here else 1


def names_else(meaning: Meaning, found: tuple[tuple[Segment, ...], ...]) -> bool:
    """Say whether a clause names a part that a meaning is not about: "the glove box opens"."""
    else_ = bits()["part.other_thing"]
    return any(
        segment.bits & else_
        or (not segment.bits & ~every_part() and not segment.bits & meaning.allowed)
        for segments in found
        for segment in segments
    )


@cache
def every_part() -> int:
    """Return the bits of every part."""
    return sum(bit for name, bit in bits().items() if name.startswith("part."))


def everything(*, facts: bool | None = None) -> Iterator[tuple[str, str, Meaning]]:
    """Yield every meaning of the file with its section and its key; only of facts, or of none."""
    if not facts:
        for section in ("acts", "together", "items", "undone", "options"):
            for key in meanings()[section]:
                yield from ((section, key, one) for one in of(section, key))
    if facts is not False:
        yield from _of_facts()


def _of_facts() -> Iterator[tuple[str, str, Meaning]]:
    for fact, values in meanings()["facts"].items():
        for value in values:
            yield from ((fact, value, one) for one in of_value(fact, value))
