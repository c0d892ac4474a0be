"""Cards: the company's own notes on its vehicles, trucks, gear and itself.

One TOML file is one card. A card is checked as a whole; `CardError` lists every problem in it.
"""

import hashlib
import json
import re
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Annotated, TypeVar, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator
from pydantic.fields import FieldInfo

from flows.errors import CardError, CardProblem

_WORD = r"[A-Za-z]+(?:'[a-z]+)?"

Slug = Annotated[
    str,
    Field(
        pattern=r"^[a-z][a-z0-9_]{0,30}$",
        description="lower-case letters, digits and underscores, at most 31",
    ),
]
Line = Annotated[str, Field(min_length=1, max_length=200, description="text, 1 to 200 characters")]


def words(most: int, characters: int = 0) -> FieldInfo:
    """Limit a spoken text to at most `most` plain words, since a phone reads it aloud.

    A hyphen separates two words, as it does wherever spoken words are counted. The number of
    characters is limited too, to 8 a word unless given, so that the text on screen stays short.

    Examples
    --------
    >>> words(2).description
    'at most 2 words of letters, 16 characters in all'
    """
    longest = characters or 8 * most
    more = f"(?:[ -]{_WORD}){{0,{most - 1}}}"
    info: FieldInfo = Field(
        pattern=f"^{_WORD}{more}$",
        max_length=longest,
        description=f"at most {most} words of letters, {longest} characters in all",
    )
    return info


def whole(unit: str, low: int, high: int) -> FieldInfo:
    """Require a whole number from `low` to `high`, both included.

    Examples
    --------
    >>> whole("inches", 60, 260).description
    'whole inches, 60 to 260'
    """
    info: FieldInfo = Field(ge=low, le=high, description=f"whole {unit}, {low} to {high}")
    return info


def later(default: object) -> FieldInfo:
    """Mark a field that cards of an earlier version do not have.

    At its default it is no part of a card's digest, so that older cards keep theirs.
    """
    info: FieldInfo = Field(exclude_if=lambda value: value == default)
    return info


IN_64THS = "_64in"
"""The end of a field's name that holds 64ths of an inch; a card may write inches instead."""
_INCHES = re.compile(
    r"(?=\d)(?:(\d{1,3})(?:[ -]|(?!/|\d)))?(?:(\d{1,2})/(\d{1,2}))?(?: ?(?:in|inch|inches|\"))?"
)
_HALVED = frozenset({1, 2, 4, 8, 16, 32, 64})
_INCHES_ALLOWED = 'inches with a fraction down to 64ths: "3/8", "1 1/2" or "2"'


def length(name: str, low: int, high: int) -> FieldInfo:
    """Require a small length, in 64ths of an inch or as inches with a fraction.

    Parameters
    ----------
    name
        The field's name without its unit.
    low, high
        In 64ths of an inch, both included.

    Examples
    --------
    >>> length("width", 64, 640).description
    'inches with a fraction, 1 to 10; or width_64in, whole 64ths of an inch, 64 to 640'
    """
    ends = " to ".join(shown_64ths(end) for end in (low, high))
    info: FieldInfo = Field(
        ge=low,
        le=high,
        description=f"inches with a fraction, {ends}; or {name}{IN_64THS}, whole 64ths of an "
        f"inch, {low} to {high}",
    )
    return info


def shown_64ths(value: int) -> str:
    """Return 64ths of an inch as inches with a fraction.

    Examples
    --------
    >>> shown_64ths(72), shown_64ths(24), shown_64ths(128)
    ('1 1/8', '3/8', '2')
    """
    whole_in, rest = divmod(Fraction(value, 64), 1)
    return " ".join(str(part) for part in (whole_in, rest) if part) or "0"


def in_inches(name: str) -> str:
    """Return the name of a field as it is written with inches.

    Examples
    --------
    >>> in_inches("width_64in"), in_inches("height_in")
    ('width_in', 'height_in')
    """
    return f"{name.removesuffix(IN_64THS)}_in" if name.endswith(IN_64THS) else name


def in_64ths(text: object) -> int | None:
    """Return inches with a fraction in 64ths; None for any other text, or a finer fraction.

    Examples
    --------
    >>> in_64ths("3/8"), in_64ths("1 1/2 in"), in_64ths('2"'), in_64ths(2), in_64ths("3 5/32")
    (24, 96, 128, 128, 202)
    >>> in_64ths("1/3"), in_64ths("a quarter"), in_64ths(""), in_64ths("3/0")
    (None, None, None, None)
    """
    found = _INCHES.fullmatch(str(text).strip())
    if found is None:
        return None
    whole_in, over, under = int(found[1] or 0), int(found[2] or 0), int(found[3] or 1)
    is_exact = over < under and under in _HALVED
    return 64 * whole_in + 64 * over // under if is_exact else None


class Card(BaseModel):
    """Base of all cards and their parts: frozen, strict, no unknown fields."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    @model_validator(mode="before")
    @classmethod
    def _takes_fractions(cls, given: object) -> object:
        """Take inches with a fraction for every field in 64ths of an inch."""
        if not isinstance(given, Mapping):
            return given
        found = dict(given)
        for name in cls.model_fields:
            inches = in_inches(name)
            if inches == name or inches not in found:
                continue
            value = in_64ths(found[inches])
            if value is None:
                raise FieldError(inches, found[inches], _INCHES_ALLOWED)
            if name in found:
                raise FieldError(inches, "given", f"nothing, since {name} is")
            found[name] = value
            del found[inches]
        return found


class FieldError(ValueError):
    """A field that does not fit another field of the same card.

    Parameters
    ----------
    field : str
        Path of the field.
    value : object
        The value found in it.
    allowed : str
        The values it may have.
    """

    def __init__(self, field: str, value: object, allowed: str) -> None:
        super().__init__(field)
        self.problem = CardProblem(field, str(value), allowed)


M = TypeVar("M", bound=Card)


def parse(model: type[M], file: str, data: Mapping[str, object]) -> M:
    """Check `data` against `model`: the one way to read any kind of card.

    Parameters
    ----------
    model : type of Card
        The kind of card: `VehicleCard`, `TruckCard`, `GearCard` or `CompanyCard`.
    file : str
        Name of the file, for the message.
    data : mapping
        The contents of the TOML file.

    Returns
    -------
    Card
        An instance of `model`.

    Raises
    ------
    CardError
        If any field is missing, unknown, of the wrong type, out of range or contradicts another;
        it names the file, each wrong field, its value and the values allowed.
    """
    try:
        return model.model_validate(_frozen(data))
    except ValidationError as error:
        raise CardError(file, tuple(_problems(model, error))) from None


def digest(card: Card) -> str:
    """Return the SHA-256 of the card's canonical JSON, as 64 hex digits.

    Canonical is: sorted keys, no spaces, UTF-8. The same content in another order or layout
    of the TOML file has the same digest.
    """
    text = json.dumps(
        card.model_dump(mode="json"), sort_keys=True, separators=(",", ":"), ensure_ascii=False
    )
    return hashlib.sha256(text.encode()).hexdigest()


def fields(model: type[Card], under: str = "") -> Iterator[tuple[str, bool, str]]:
    """Yield every field of a card and of its parts: path, whether required, allowed values.

    In a path ``*`` stands for any index of a list, or any name.

    Examples
    --------
    >>> class Strap(Card):
    ...     width_in: Annotated[int, whole("inches", 1, 4)]
    >>> list(fields(Strap))
    [('width_in', True, 'whole inches, 1 to 4')]
    """
    for name, field in model.model_fields.items():
        yield under + in_inches(name), field.is_required(), field.description or ""
        part = _part(field.annotation)
        if part is not None:
            every = ".*" if _is_many(field.annotation) else ""
            yield from fields(part, f"{under}{name}{every}.")


def _is_many(annotation: object) -> bool:
    many = get_origin(annotation) in {tuple, Mapping}
    return many or any(map(_is_many, get_args(annotation)))


def _frozen(value: object) -> object:
    """Turn TOML's lists into tuples, as the models require."""
    match value:
        case Mapping():
            return {key: _frozen(item) for key, item in value.items()}
        case list():
            return tuple(_frozen(item) for item in value)
        case _:
            return value


def _problems(model: type[Card], error: ValidationError) -> Iterator[CardProblem]:
    for detail in error.errors(include_url=False):
        location = detail["loc"]
        cause = detail.get("ctx", {}).get("error")
        path = ".".join(str(part) for part in location)
        if isinstance(cause, FieldError):
            inner = cause.problem
            field = f"{path}.{inner.field}" if path else inner.field
            yield CardProblem(field, inner.value, inner.allowed)
        else:
            value = "missing" if detail["type"] == "missing" else _shown(detail["input"])
            yield CardProblem(path, value, _allowed(model, location))


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _allowed(model: type[Card], location: tuple[int | str, ...]) -> str:
    """Return the values allowed at `location`, from the descriptions of the fields on its path."""
    here: type[Card] | None = model
    allowed, keyed = "", False
    for part in location:
        if isinstance(part, int) or here is None or keyed:
            keyed = False
            continue
        field = here.model_fields.get(part)
        if field is None:
            return "one of the fields " + ", ".join(map(in_inches, here.model_fields))
        allowed = field.description or allowed
        keyed = get_origin(field.annotation) is Mapping
        here = _part(field.annotation)
    return allowed


def _part(annotation: object) -> type[Card] | None:
    """Find the card part inside an annotation such as ``tuple[Part, ...] | None``."""
    if isinstance(annotation, type) and issubclass(annotation, Card):
        return annotation
    return next((found for arg in get_args(annotation) if (found := _part(arg))), None)
