"""The words that a vehicle's card, or its absence, puts into a sentence."""

from collections.abc import Callable, Mapping

from flows.cards.chosen import chosen_card
from flows.cards.vehicle import VehicleCard
from flows.job.acts import NUMBERS, UNKNOWN
from flows.job.events import MINUTE_NS
from flows.job.facts import CARDS_OFFERED
from flows.job.state import Job
from flows.measures.say import plain_minutes
from flows.routine import card_waits
from flows.routine.conditions.under import gear_rides_along
from flows.routine.conditions.waking import no_way_is_left
from flows.routine.items import WaitStep
from flows.routine.neutral_ways import way_of
from flows.routine.sections.skate import IN_PARK
from flows.texts import word

KEEP_OFF_SAID = 3
"""So many places that tear are said in one message; the last of them asks for the answer."""


def minutes(number: int) -> str:
    """Return a number of minutes in words.

    Examples
    --------
    >>> minutes(1), minutes(15)
    ('one minute', 'fifteen minutes')
    """
    if number == 0:
        return word("under_a_minute")
    return plain_minutes(number)


def _from_card(read: Callable[[VehicleCard], str | None], default: str) -> Callable[[Job], str]:
    def filled(job: Job) -> str:
        card = chosen_card(job)
        value = None if card is None else read(card)
        return word(default) if value is None else value

    return filled


def _isolation(n: int, part: str) -> Callable[[VehicleCard], str | None]:
    def read(card: VehicleCard) -> str | None:
        isolation = card.isolation(n)
        return None if isolation is None else str(getattr(isolation, part))

    return read


def _handed_open(job: Job) -> str:
    """Name the isolations that go over open, by the card; without one, as it is called."""
    card, still = chosen_card(job), {"open", "pinned", UNKNOWN}
    numbers = [n for n in NUMBERS if job.acts[f"isolation.{n}"] in still]
    found = [None if card is None else card.isolation(n) for n in numbers]
    return ", ".join(word("isolation") if one is None else one.name for one in found)


def _wait_left(job: Job) -> str:
    """Return the rest of the open wait, rounded up: never less than there is."""
    item, at = job.next_item, job.now
    left = (
        card_waits.left_ns(job, item, at) if isinstance(item, WaitStep) and at is not None else 0
    )
    return minutes(-(-left // MINUTE_NS))


def _point(job: Job, part: str) -> str:
    card, end = chosen_card(job), job.value("facing")
    point = None if card is None else card.holds.first(end)
    return word(f"no_card_{part}") if point is None else str(getattr(point, part))


def _post_where(card: VehicleCard) -> str | None:
    return card.access[0].where.capitalize() if card.access else None


_STOPPED = {"front": "stopped_front", "rear": "stopped_rear"}


def _stopped(job: Job) -> str:
    """Name the wheels that do not turn: those that are stopped, those that Park holds, or both."""
    card, wheels = chosen_card(job), job.value("wheels")
    if not no_way_is_left.holds(job):
        return word("stopped_wheels")
    if wheels != "roll" or card is None or card.park_holds is None:
        return word("stopped_all")
    return word(_STOPPED.get(card.park_holds.axle, "stopped_all"))


def _under(job: Job) -> str:
    return word("skates" if job.acts["skates"] == "under" else "dollies")


def _way(job: Job, part: str) -> str:
    way = way_of(job)
    if way is None:
        return word(f"no_card_{part}")
    return str(getattr(way, part)).capitalize()


def _hold(job: Job, *, spoken: bool) -> str:
    way = way_of(job)
    hold = None if way is None else way.hold_min
    if hold is None:
        return word("not_known")
    return minutes(hold) if spoken else word("hold_shown").format(n=hold)


def keep_off_parts(job: Job) -> tuple[str, ...]:
    """Return the places that tear, as many together as are said in one message."""
    card = chosen_card(job)
    places = () if card is None else card.keep_off
    starts = range(0, len(places), KEEP_OFF_SAID)
    return tuple(", ".join(places[at : at + KEEP_OFF_SAID]) for at in starts)


def _keep_off(job: Job) -> str:
    """Name the last places; those before them are said before."""
    return next(reversed(keep_off_parts(job)), word("none"))


def _keep_off_more(job: Job) -> str:
    """Name the other places, which are shown once more under the last."""
    more = ", ".join(keep_off_parts(job)[:-1])
    return word("keep_off_more").format(places=more) if more else ""


def ends_neutral(job: Job) -> tuple[str, ...]:
    """Return the events that end neutral early in the chosen way, the first few on the card."""
    way = way_of(job)
    return () if way is None else way.cancelled_by[:KEEP_OFF_SAID]


def keeps_off(job: Job) -> bool:
    """Say whether the card names places that tear."""
    card = chosen_card(job)
    return card is not None and bool(card.keep_off)


def _cards_told_by(job: Job) -> str:
    """Return how to tell each card that fits from the others, the first few."""
    fitting = job.book.library.fitting(job.sure("powertrain"), job.sure("family"))
    told = (
        word("card_told_by").format(card=one.name, told_by=one.told_by)
        for one in fitting[:CARDS_OFFERED]
        if one.told_by is not None
    )
    return "".join(told)


OF_CARD: Mapping[str, Callable[[Job], str]] = {
    **{
        f"{name}_{n}": _from_card(_isolation(n, part), name)
        for n in NUMBERS
        for name, part in (("isolation", "name"), ("held_open_with", "held_open_with"))
    },
    "cover": _from_card(lambda c: c.covers[0] if c.covers else None, "covers"),
    "covers_first": _from_card(lambda c: ", ".join(c.covers).capitalize() or None, "covers"),
    "handed_open": _handed_open,
    "wait_left": _wait_left,
    "release": _from_card(lambda c: c.cord_release.name if c.cord_release else None, "release"),
    "travel": _from_card(
        lambda c: c.cord_release.travel_words if c.cord_release else None, "travel"
    ),
    "way": lambda job: _way(job, "way"),
    "confirmation": lambda job: _way(job, "confirmation"),
    **{
        name: _from_card(read, name)
        for name, read in (
            ("boost_positive", lambda c: c.boost.positive if c.boost else None),
            ("boost_ground", lambda c: c.boost.ground if c.boost else None),
            ("post_where_first", _post_where),
            ("post_positive", lambda c: c.access[0].positive if c.access else None),
            ("post_negative", lambda c: c.access[0].negative if c.access else None),
            ("post_opens", lambda c: c.access[0].opens if c.access else None),
        )
    },
    "stopped": _stopped,
    "gear_too": lambda job: word("gear_too") if gear_rides_along.holds(job) else "",
    "or_axle": lambda job: word("or_axle") if job.value("wheels") == "missing" else "",
    "under": _under,
    "point": lambda job: _point(job, "point"),
    "device": lambda job: _point(job, "device"),
    "hold_spoken": lambda job: _hold(job, spoken=True),
    "hold_shown": lambda job: _hold(job, spoken=False),
    "card_name": _from_card(lambda c: c.name, "none"),
    "variant": _from_card(lambda c: c.variant, "not_known"),
    "told_by": _from_card(lambda c: c.told_by, "not_known"),
    "cards_told_by": _cards_told_by,
    "neutral_ends": lambda job: ", ".join(ends_neutral(job)) or word("not_known"),
    "neutral_ends_first": lambda job: ", ".join(ends_neutral(job)).capitalize(),
    "stays": lambda job: word("stays_in_park" if IN_PARK.holds(job) else "neutral_holds"),
    "keep_off": _keep_off,
    "keep_off_more": _keep_off_more,
}
"""The placeholders of a card."""
