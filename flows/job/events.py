"""The three events that move a job, and the moments they happen at.

Time reaches the flows only inside these. A moment carries the wall clock, for display and
record, and the boot-time clock with its boot id, which alone measures elapsed time.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Role = Literal["driver", "dispatcher", "owner"]
MediaKind = Literal["photo", "voice", "file"]

SECOND_NS = 1_000_000_000
MINUTE_NS = 60 * SECOND_NS


@dataclass(frozen=True, slots=True)
class Moment:
    """One reading of the bot's own clocks.

    Parameters
    ----------
    wall_ms
        Wall clock, UTC [ms since 1970].
    mono_ns
        Boot-time clock [ns]; comparable only within one boot.
    boot
        Identity of that boot.
    offsets
        UTC offsets of the company's zone in force lately, oldest first, each as
        (wall ms since when, minutes east of UTC).
    """

    wall_ms: int
    mono_ns: int
    boot: str
    offsets: tuple[tuple[int, int], ...] = field(default=((0, 0),), compare=False)


@dataclass(frozen=True, slots=True)
class Person:
    """Someone enrolled: an opaque id for the record, and a role."""

    id: str
    role: Role


@dataclass(frozen=True, slots=True)
class Media:
    """A file as received: only its kind, digest, size and media type reach the record.

    Without a digest its bytes are still to come: a channel fetches them by `ref`, its own name
    for the file, and says so by `Told`.
    """

    kind: MediaKind
    sha256: str = ""
    size: int = 0
    type: str = ""
    ref: str = ""


@dataclass(frozen=True, slots=True)
class Opinion:
    """What a second recogniser wrote down of the same note, without knowing what was asked.

    Parameters
    ----------
    text
        Its words.
    engine, version
        What wrote them, and the digest of its network.
    agrees
        Whether they mean what the first one heard.
    why
        Why there is none: the key of a sentence; told once, with the first note that wanted one.
    """

    text: str = ""
    engine: str = "none"
    version: str = ""
    agrees: bool = False
    why: str = ""


@dataclass(frozen=True, slots=True)
class Spoken:
    """What a recogniser made of a voice note: no person wrote it, and the record says so.

    Parameters
    ----------
    text
        What was heard, within the grammar of the question it was heard under, or free words.
    score
        How sure that is, 0 to 100.
    engine, version
        What heard it.
    under
        The question it was heard under, by its key; empty for none.
    is_free
        Free words, where those are an answer.
    why
        Why nothing was heard: "empty", "too_quiet", "too_long", "unreadable", "no_engine".
    opinion
        What a second recogniser makes of it, where one was asked.
    """

    text: str = ""
    score: int = 0
    engine: str = "none"
    version: str = ""
    under: str = ""
    is_free: bool = False
    why: str = ""
    opinion: Opinion | None = None


@dataclass(frozen=True, slots=True)
class Position:
    """A position in microdegrees, with the words sent along."""

    lat_udeg: int
    lon_udeg: int
    label: str = ""


@dataclass(frozen=True, slots=True)
class Aboard:
    """The vehicle of a job on a truck's deck: its highest weight [lb], its centre of gravity.

    `at_in` is behind the truck's front axle [in].
    """

    job: int
    weight_lb: int
    at_in: int


Fleet = Mapping[str, tuple[Aboard, ...]]
"""What the other jobs have aboard each truck, by the truck's id."""


@dataclass(frozen=True, slots=True)
class Heard:
    """A person said, tapped or sent something.

    `ask` is the number of the question this answers, where the channel can tell.
    `stamped_ms` is when the platform took it in, by the platform's clock.
    `is_part` is a file of several that came as one: nothing is said to it, but to the last.
    """

    who: Person
    at: Moment
    text: str = ""
    tap: str | None = None
    ask: int | None = None
    stamped_ms: int | None = None
    is_edit: bool = False
    media: Media | None = None
    position: Position | None = None
    fleet: Fleet | None = None
    spoken: Spoken | None = None
    is_part: bool = False


@dataclass(frozen=True, slots=True)
class Tick:
    """A timer fell due. An obsolete generation does nothing."""

    timer: str
    generation: int
    at: Moment
    fleet: Fleet | None = None


@dataclass(frozen=True, slots=True)
class Told:
    """Something outside this job changed, its driver is back, or a file's bytes are here.

    What is aboard another truck or the same counts by `fleet`, where an event has one: the desk
    gives it to each. "left" is its driver going to another job.
    `receipt` is the entry that recorded a file's receipt; `media` is None where its bytes will
    not come.
    """

    what: Literal["restarted", "truck_changed", "media", "left", "driver_gone"]
    at: Moment
    receipt: int = -1
    media: Media | None = None
    fleet: Fleet | None = None


Event = Heard | Tick | Told
