"""The draft of a vehicle card, from a job that had none, for the owner to complete and approve.

It has only values that somebody said or measured, each with its source, and none that was
assumed. It lists the other fields that a card needs; until they are filled in it is no card.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from flows.cards.chosen import chosen_card
from flows.errors import FlowError
from flows.job.events import MINUTE_NS
from flows.texts import card_words

if TYPE_CHECKING:
    from flows.job.state import Job

FIELDS: Final = ("powertrain", "drive", "weight_class", "twelve_volt")
_FACT_OF: Final = {"twelve_volt": "twelve_volt_kind"}
SOURCED: Final = frozenset({"drive", "twelve_volt"})
"""Fields for which a card names the source."""


def draft(job: "Job") -> str:
    """Return the draft as TOML.

    Raises
    ------
    FlowError
        Where the job has a card, or knows nothing that a card could hold.
    """
    words = card_words()["draft"]
    card = chosen_card(job)
    if card is not None:
        raise FlowError(words["has_card"].format(number=job.ref, card=card.name))
    known, notes = dict(_known(job)), list(_notes(job))
    if not known and not notes:
        raise FlowError(words["nothing"].format(number=job.ref))
    return "\n".join(_lines(job, known, notes)) + "\n"


def _known(job: "Job") -> Iterator[tuple[str, str]]:
    """Yield the fields of a card that are known for sure."""
    for field in FIELDS:
        value = job.sure(_FACT_OF.get(field, field))
        if value is not None and value not in {"any", "not_known"}:
            yield field, value


def _notes(job: "Job") -> Iterator[tuple[str, str]]:
    """Yield findings that have no field of their own, in words, with their rank."""
    words, weight = card_words()["draft"], job.sure("weight")
    if weight is not None:
        is_scaled = job.value("weight_how") == "ticket"
        rank = "measured" if is_scaled else "practice"
        yield words["scaled" if is_scaled else "weight"].format(lb=weight), rank
    if job.sure("point_shown") == "yes":
        yield words["point"].format(end=job.value("facing") or words["an_end"]), "practice"
    seen_min = hold_seen_min(job)
    if seen_min:
        yield words["held"].format(minutes=seen_min), "measured"


def hold_seen_min(job: "Job") -> int:
    """Return how long neutral was seen to hold [minutes], 0 where nobody saw it."""
    window = job.window
    if window is None or window.state != "closed" or window.state_ns <= window.earliest_ns:
        return 0
    return (window.state_ns - window.earliest_ns) // MINUTE_NS


def _lines(job: "Job", known: dict[str, str], notes: list[tuple[str, str]]) -> Iterator[str]:
    yield from (line.format(number=job.ref) for line in card_words()["draft"]["head"])
    yield from (f'{field} = "{value}"' for field, value in known.items())
    if notes:
        listed = ", ".join(f'"{text}"' for text, _ in notes)
        yield f"notes = [{listed}]"
    yield ""
    yield "[sources]"
    yield from _sources(job, known, {rank for _, rank in notes})


def _sources(job: "Job", known: dict[str, str], ranks: set[str]) -> Iterator[str]:
    """Yield the source of each field that needs one; all notes have the lowest of their ranks."""
    said = card_words()["draft"]["said"].format(number=job.ref)
    yield from (_source(field, said, "practice") for field in known if field in SOURCED)
    if ranks:
        yield _source("notes", said, "practice" if "practice" in ranks else "measured")


def _source(field: str, source: str, rank: str) -> str:
    return f'{field} = {{ source = "{source}", rank = "{rank}" }}'
