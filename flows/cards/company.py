"""Company card: its name, its time zone, how dispatch is reached, when a load is called close."""

from collections.abc import Mapping
from typing import Annotated

from pydantic import Field

from flows.cards import Card, parse, whole, words


class CompanyCard(Card):
    """The company a bot works for.

    ``dispatch_phone`` is written the way it is said, in at most 12 words: a spoken sentence holds
    it. ``close_at_pct`` is the part of a limit, in percent, from which a load is called close.
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


def parse_company(name: str, data: Mapping[str, object]) -> CompanyCard:
    """Read the company card.

    Parameters
    ----------
    name : str
        Name of the file, for the message.
    data : mapping
        What the TOML file holds.

    Raises
    ------
    CardError
        Naming the file, each wrong field, its value and what is allowed.
    """
    return parse(CompanyCard, name, data)
