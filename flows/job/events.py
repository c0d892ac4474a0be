"""The three events that move a job, and the moments at which they happen.

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
    """The bot's own clocks at one moment.

    Parameters
    ----------
    wall_ms
        Wall clock, UTC [ms since 1970].
    mono_ns
        Boot-time clock [ns]; comparable only within one boot.
    boot
        Identity of that boot.
    offsets
        Recent UTC offsets of the company's zone, oldest first, each as
        (wall ms from which it applies, minutes east of UTC).
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
    """The words of a second recogniser for the same note; it does not know the question.

    Parameters
    ----------
    text
        Its words.
    engine, version
        The recogniser, and the digest of its network.
    agrees
        Whether both recognisers understood the same.
    why
        Why there is no opinion: the key of a sentence, told once, with the first note that
        needed one.
    """

    text: str = ""
    engine: str = "none"
    version: str = ""
    agrees: bool = False
    why: str = ""


@dataclass(frozen=True, slots=True)
class Spoken:
    """A voice note as a recogniser heard it: no person wrote it, and the record says so.

    Parameters
    ----------
    text
        The words, within the grammar of the question it was heard under, or free words.
    score
        How sure the recogniser is, 0 to 100.
    engine, version
        The recogniser.
    under
        The question it was heard under, by its key; empty for none.
    is_free
        Free words, where those are an answer.
    why
        Why nothing was heard: "empty", "too_quiet", "too_long", "unreadable", "no_engine".
    opinion
        The opinion of a second recogniser, where one was asked.
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

    `at_in` is the distance behind the truck's front axle [in]. `left` marks the vehicle of a job
    that ended in a hand-off with it on the deck: nobody said since that it came off.
    """

    job: int
    weight_lb: int
    at_in: int
    left: bool = False


Fleet = Mapping[str, tuple[Aboard, ...]]
"""The vehicles of other jobs aboard each truck, by the truck's id; of ended jobs, those left."""


@dataclass(frozen=True, slots=True)
class Heard:
    """A person said, tapped or sent something.

    `ask` is the number of the question it answers, where the channel can tell.
    `stamped_ms` is when the platform received it, by the platform's clock.
    `no_receipt` says that the channel tells no time of receipt, so that a stamp before `at` is no
    sign of a delay. `is_part` marks a file of an album: only the last file gets a reply.
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
    no_receipt: bool = False


@dataclass(frozen=True, slots=True)
class Tick:
    """A timer fell due. An obsolete generation does nothing."""

    timer: str
    generation: int
    at: Moment
    fleet: Fleet | None = None


What = Literal["restarted", "truck_changed", "media", "left", "driver_gone", "taken_off",
               "untaken", "silent", "unheard"]  # fmt: skip
"""What can be told to a job."""


@dataclass(frozen=True, slots=True)
class Told:
    """Something outside this job changed, its driver is back, or a file's bytes are here.

    The desk gives each event the `fleet`, for the vehicles aboard this truck and others. "left"
    is its driver going to another job; "taken_off" is the vehicle that this job left aboard.
    "untaken", "silent" and "unheard" are told to dispatch: nobody took it, its driver says
    nothing, nobody there answers an alarm. `receipt` is the entry that recorded a file's receipt;
    `media` is None where its bytes will never come.
    """

    what: What
    at: Moment
    receipt: int = -1
    media: Media | None = None
    fleet: Fleet | None = None


Event = Heard | Tick | Told
