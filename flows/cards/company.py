"""Company card: name, time zone, policies, state limits, and whom to call."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from flows.cards import Card, FieldError, Line, later, whole, words

Phone = Annotated[
    str,
    Field(
        pattern=r"^[a-z]+(,? [a-z]+){2,15}$",
        description='the number in words, such as "five five five, zero one four two"',
    ),
]


class StateLimits(Card):
    """The legal limits of one state, and the text they were taken from.

    An absent limit is not configured. They apply in addition to the ratings, never instead.
    """

    state: Annotated[str, words(4)]
    single_lb: Annotated[int | None, whole("pounds", 10000, 40000)] = None
    tandem_lb: Annotated[int | None, whole("pounds", 20000, 60000)] = None
    gross_lb: Annotated[int | None, whole("pounds", 40000, 200000)] = None
    height_in: Annotated[int | None, whole("inches", 120, 200)] = None
    length_in: Annotated[int | None, whole("inches", 300, 1200)] = None
    source: Line

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        limits = [name for name in type(self).model_fields if name.endswith(("_lb", "_in"))]
        if all(getattr(self, name) is None for name in limits):
            raise FieldError("state", self.state, "a state with one of " + ", ".join(limits))
        return self


class Contact(Card):
    """Somebody to call: a name, and the number in words."""

    name: Annotated[str, words(4)]
    phone: Phone


class CompanyCard(Card):
    """The company a bot works for.

    Phone numbers are written the way they are said; dispatch's takes at most 12 words, since
    spoken sentences contain it. ``close_at_pct`` is the percentage of a limit from which a load is
    called close. Only an owner may decide against a margin, because the owner answers for the
    truck, so ``may_override`` names no other role.
    """

    name: Annotated[str, words(4)]
    zone: Annotated[
        str,
        Field(
            pattern=r"^(UTC|[A-Z][A-Za-z_]+(/[A-Z][A-Za-z_-]+){1,2})$",
            description='a time zone by its place, such as "America/Denver"',
        ),
    ]
    dispatch_phone: Annotated[
        str,
        Field(
            pattern=r"^[a-z]+(,? [a-z]+){2,11}$",
            description='the number in words, such as "five five five, zero one four two"',
        ),
    ]
    close_at_pct: Annotated[int, whole("percent", 50, 100)] = 95
    untaken_min: Annotated[int, whole("minutes", 2, 240), later(10)] = 10
    silent_min: Annotated[int, whole("minutes", 5, 240), later(20)] = 20
    may_override: Annotated[
        tuple[Literal["owner"], ...],
        Field(min_length=1, max_length=1, description='a list of "owner", who alone may'),
    ] = ("owner",)
    limits: Annotated[
        tuple[StateLimits, ...],
        Field(max_length=60, description="a list of tables with state, source and its limits"),
    ] = ()
    contacts: Annotated[
        tuple[Contact, ...],
        Field(max_length=20, description="a list of tables with name and phone"),
    ] = ()
