"""Conditions: small named predicates over a job, each with the facts it reads.

A condition sees facts through a view that raises on a fact it did not declare, so the facts
under an item can be listed, drawn and explored.
"""

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from flows.cards.chosen import chosen_card
from flows.errors import FlowError

if TYPE_CHECKING:
    from flows.cards.vehicle import VehicleCard
    from flows.job.state import Job, Window


class UndeclaredReadError(FlowError):
    """A condition read a fact that it did not declare."""


class View:
    """The part of a job that one condition may see."""

    __slots__ = ("_job", "_name", "_reads")

    def __init__(self, job: "Job", name: str, reads: frozenset[str]) -> None:
        self._job = job
        self._name = name
        self._reads = reads

    def _declared(self, name: str) -> None:
        if name not in self._reads:
            raise UndeclaredReadError(
                f"condition {self._name!r} read {name!r}, which it does not declare; it declares "
                f"{sorted(self._reads)}. Add it to @condition(...)."
            )

    def fact(self, name: str) -> str | None:
        """Return a declared fact's value, None when it is not known."""
        self._declared(name)
        value: str | None = self._job.value(name)
        return value

    def sure(self, name: str) -> str | None:
        """Return a declared fact's value, None when it is not known or only assumed."""
        self._declared(name)
        value: str | None = self._job.sure(name)
        return value

    def act(self, variable: str) -> str:
        """Return an act state."""
        return self._job.acts[variable]

    def done(self, item: str) -> bool:
        """Say whether a declared step that leaves no act state was done."""
        self._declared(item)
        return item in self._job.done

    @property
    def card(self) -> "VehicleCard | None":
        """The vehicle card, when one was chosen."""
        self._declared("card")
        return chosen_card(self._job)

    @property
    def is_damaged(self) -> bool:
        """It is damaged or flooded, may be, or was released from danger."""
        self._declared("history")
        return self._job.is_damaged

    @property
    def fitting(self) -> "tuple[VehicleCard, ...]":
        """The vehicle cards that fit what is known for sure of powertrain and family."""
        powertrain, family = map(self.sure, ("powertrain", "family"))
        return self._job.book.library.fitting(powertrain, family)

    @property
    def verdict(self) -> str | None:
        """The margin's word, None without a margin that is up to date."""
        self._declared("margin")
        return self._job.verdict

    def lift(self, by: str) -> str | None:
        """Return the word of the lift, by a second truck or by dollies alone."""
        self._declared("lift")
        return self._job.lift_by(by)

    @property
    def load_matters(self) -> bool:
        """A load that may be in the vehicle would change the margin's word."""
        self._declared("margin")
        margin = self._job.margin
        return self._job.verdict is not None and bool(margin and margin.result.get("load_matters"))

    @property
    def pull(self) -> str | None:
        """The word of the planned pull, None without a plan that is up to date."""
        self._declared("pull")
        return self._job.pull_word

    @property
    def owner_decided(self) -> bool:
        """An owner decided against or beyond the margin."""
        self._declared("margin")
        return self._job.override is not None

    @property
    def window(self) -> "Window | None":
        """The newest neutral window."""
        self._declared("window")
        return self._job.window

    @property
    def open_skips(self) -> int:
        """How many skips nobody has settled."""
        self._declared("skips")
        return sum(1 for skip in self._job.skips if skip.settled_by is None)

    @property
    def handoff(self) -> str | None:
        """Why a hand-off is wanted, when one is."""
        self._declared("handoff")
        return self._job.handoff


class Condition:
    """A named predicate over a job; `&`, `|` and `~` combine conditions and keep the parts.

    `made_of` is how a combination is made ("and", "or", "not") and its parts. Its name says the
    same, with parentheses around an "and" or an "or" inside another combination: two
    combinations have the same name exactly if they have the same structure.

    Examples
    --------
    >>> never = ~ALWAYS
    >>> never.name, never.made_of[0]
    ('not always', 'not')
    >>> (~(ALWAYS & never)).name, (~ALWAYS & never).name
    ('not (always and not always)', 'not always and not always')
    """

    __slots__ = ("holds", "made_of", "name", "reads", "says")

    def __init__(
        self,
        name: str,
        reads: frozenset[str],
        holds: "Callable[[Job], bool]",
        says: str = "",
        made_of: "tuple[str, tuple[Condition, ...]]" = ("", ()),
    ) -> None:
        self.name = name
        self.reads = reads
        self.holds = holds
        self.says = says or name
        self.made_of = made_of

    @property
    def simple(self) -> "frozenset[Condition]":
        """The conditions in it that combine nothing."""
        _, parts = self.made_of
        return frozenset().union(*(part.simple for part in parts)) if parts else frozenset({self})

    def __and__(self, other: "Condition") -> "Condition":
        mine, its = self.holds, other.holds
        return self._joined("and", other, lambda job: mine(job) and its(job))

    def __or__(self, other: "Condition") -> "Condition":
        mine, its = self.holds, other.holds
        return self._joined("or", other, lambda job: mine(job) or its(job))

    def __invert__(self) -> "Condition":
        mine = self.holds
        name = f"not {_as_part(self)}"
        return Condition(name, self.reads, lambda job: not mine(job), made_of=("not", (self,)))

    def _joined(self, how: str, other: "Condition", holds: "Callable[[Job], bool]") -> "Condition":
        parts = (*_parts(self, how), *_parts(other, how))
        name = f" {how} ".join(_as_part(part) for part in parts)
        return Condition(name, self.reads | other.reads, holds, made_of=(how, parts))


def _as_part(one: Condition) -> str:
    """Return a condition's name inside a combination."""
    how, _ = one.made_of
    return f"({one.name})" if how in {"and", "or"} else one.name


def _parts(one: Condition, how: str) -> tuple[Condition, ...]:
    """Return the parts of a combination that is made in this way already, else itself."""
    kind, parts = one.made_of
    return parts if kind == how else (one,)


def condition(*reads: str) -> Callable[[Callable[[View], bool]], Condition]:
    """Declare a condition, the facts and marks it reads; its name is the function's, in words."""
    declared = frozenset(reads)

    def build(test: Callable[[View], bool]) -> Condition:
        name = test.__name__.replace("_", " ")
        says = test.__doc__ or ""
        return Condition(name, declared, lambda job: test(View(job, name, declared)), says)

    return build


def numbered(
    numbers: Iterable[int], *reads: str
) -> Callable[[Callable[[View, int], bool]], dict[int, Condition]]:
    """Declare a condition for each of several things, by number.

    Its docstring has ``{n}`` in place of the number.
    """
    declared = frozenset(reads)

    def build(test: Callable[[View, int], bool]) -> dict[int, Condition]:
        def one(n: int) -> Condition:
            name = f"{test.__name__} {n}".replace("_", " ")
            says = (test.__doc__ or "").format(n=n)
            return Condition(name, declared, lambda job: test(View(job, name, declared), n), says)

        return {n: one(n) for n in numbers}

    return build


ALWAYS = Condition("always", frozenset(), lambda _job: True)
