"""A card as a page of plain text: every statement with its unit, source and rank."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from flows.cards import Card, shown_64ths
from flows.cards.library import KINDS
from flows.cards.vehicle import STATEMENTS, VehicleCard
from flows.texts import card_words

_IN_TITLE: Final = frozenset({"id", "name", "sources"})
_INDENT: Final = "  "


def page(card: Card) -> str:
    """Return a card as a page.

    Parameters
    ----------
    card : Card
        A valid card of any kind.
    """
    fields = [name for name in type(card).model_fields if name not in _IN_TITLE]
    unknown = [name for name in fields if getattr(card, name) in (None, ())]
    given = [name for name in fields if name not in unknown]
    lines = _vehicle(card) if isinstance(card, VehicleCard) else _fields(card, given)
    return "\n".join((_title(card), *_indented(lines), *_unknown(unknown)))


def _title(card: Card) -> str:
    kind = next(name for name, model in KINDS.items() if model is type(card))
    title: str = card_words()["page"][kind]
    return title.format(id=getattr(card, "id", ""), name=getattr(card, "name", ""))


def _unknown(fields: list[str]) -> Iterator[str]:
    if fields:
        yield card_words()["page"]["unknown"].format(labels=", ".join(map(_label, fields)).lower())


def _vehicle(card: VehicleCard) -> Iterator[str]:
    """Yield the facts that need no source, then each statement under a line naming its source."""
    stated = {field for fields in STATEMENTS.values() for field in fields}
    rest = [name for name in VehicleCard.model_fields if name not in stated | _IN_TITLE]
    yield from _fields(card, rest)
    for name, source in card.sources.items():
        heading = {"label": _label(name), "source": source.source}
        rank = card_words()["ranks"][source.rank]
        yield card_words()["page"]["sourced"].format(**heading, rank=rank)
        fields = STATEMENTS[name]
        yield from _indented(_fields(card, fields) if len(fields) > 1 else _bare(card, name))


def _bare(card: Card, name: str) -> Iterator[str]:
    """Yield the contents of a field whose label has been shown."""
    value = getattr(card, name)
    if isinstance(value, Card):
        yield from _fields(value, type(value).model_fields)
    elif _is_list_of_parts(value):
        yield from _parts(name, value)
    elif isinstance(value, tuple) and value:
        yield from map(str, value)
    else:
        yield _shown(name, value)


def _fields(card: Card, names: Iterable[str]) -> Iterator[str]:
    for name in names:
        value = getattr(card, name)
        if value is None:
            continue
        if isinstance(value, Card):
            yield _label(name)
            yield from _indented(_fields(value, type(value).model_fields))
        elif _is_list_of_parts(value):
            yield from _parts(name, value)
        else:
            line: str = card_words()["page"]["line"]
            yield line.format(label=_label(name), value=_shown(name, value))


def _parts(name: str, parts: tuple[Card, ...]) -> Iterator[str]:
    for number, part in enumerate(parts, 1):
        yield card_words()["page"]["numbered"].format(label=_label(name), number=number)
        yield from _indented(_fields(part, type(part).model_fields))


def _indented(lines: Iterable[str]) -> Iterator[str]:
    return (_INDENT + line for line in lines)


def _is_list_of_parts(value: object) -> bool:
    return isinstance(value, tuple) and bool(value) and isinstance(value[0], Card)


def _label(name: str) -> str:
    return str(card_words()["labels"][name])


def _shown(name: str, value: object) -> str:
    """Return a value in words, with the unit at the end of its field's name."""
    words = card_words()["page"]
    match value:
        case bool():
            return str(words["yes" if value else "no"])
        case int():
            return _unit(name).format(value=_number(name, value))
        case tuple():
            return ", ".join(_shown(name, item) for item in value) or str(words["none"])
        case dt.date():
            return value.isoformat()
        case _:
            return str(value)


def _unit(name: str) -> str:
    units: Mapping[str, str] = card_words()["units"]
    return next((text for end, text in units.items() if name.endswith(end)), "{value}")


def _number(name: str, value: int) -> str:
    """Return a number with separators; 64ths as a mixed number.

    Examples
    --------
    >>> _number("travel_max_64in", 72), _number("gvwr_lb", 19500)
    ('1 1/8', '19,500')
    """
    if not name.endswith("_64in"):
        return f"{value:,}"
    return shown_64ths(value)
