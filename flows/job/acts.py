"""Acts: a closed list of physical actions, and the state that each leaves.

Facts can be corrected; acts cannot be undone. An act lasts until its opposite is done.
Taking an act back ("no, I never hooked it") leaves its state `unknown`, and the rules
assume the worst of it.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Self

from typing_extensions import override

UNKNOWN = "unknown"

WHEELS = ("left_front", "right_front", "left_rear", "right_rear")
CLAMPS = ("flat_positive", "donor_positive", "donor_negative", "flat_ground")
FROM_A_PACK = ("flat_positive", "flat_ground")
POSTS = ("post_positive", "post_negative")
"""Clamps of a pack on posts outside, which only power a lock and boost nothing."""
NUMBERS = (1, 2)
"""The isolations of one vehicle, in the order in which they are opened."""

# Every state variable: its value at the start, then its other values.
VARIABLES: Mapping[str, tuple[str, ...]] = {
    "danger": ("none", "seen", "released"),
    "bystanders": ("as_found", "back", "away", UNKNOWN),
    "help": ("not_called", "called", UNKNOWN),
    "truck": ("as_found", "set", UNKNOWN),
    "warning": ("none", "out", UNKNOWN),
    "chocks": ("never", "in", "out", UNKNOWN),
    "charging": ("as_found", "ended", UNKNOWN),
    "plug": ("as_found", "in", "out", UNKNOWN),
    **{
        f"isolation.{n}": ("as_found", "open", "pinned", "reclosed", "checked", UNKNOWN)
        for n in NUMBERS
    },
    **{f"tag.{n}": ("none", "tagged", UNKNOWN) for n in NUMBERS},
    "isolation_wait": ("none", "over"),
    "ajar": ("as_found", "ajar", UNKNOWN),
    "covers": ("on", "off", UNKNOWN),
    "release": ("still", "pulled", UNKNOWN),
    "go_release": ("no", "go"),
    "hook": ("off", "on", UNKNOWN),
    "line": ("off", "on", UNKNOWN),
    "tension": ("off", "on", UNKNOWN),
    "path": (UNKNOWN, "empty"),
    "keep_off": ("untold", "told"),
    "go_neutral": ("no", "go"),
    "gear": ("as_found", "neutral", "park", UNKNOWN),
    "neutral": ("unconfirmed", "confirmed", UNKNOWN),
    "winch": ("still", "moving", "paying", UNKNOWN),
    "deck": ("ground", "deck", UNKNOWN),
    **{f"strap.{wheel}": ("off", "on", UNKNOWN) for wheel in WHEELS},
    # Lifts, and gear under wheels that do not roll. Not the electrics.
    "wheels": ("stopped", "freed", UNKNOWN),
    # The second truck.
    "lifter": ("as_found", "set", UNKNOWN),
    "go_lift": ("no", "go"),
    "turned": ("no", "turned", "out"),
    "lifted": ("none", "front", "rear", UNKNOWN),
    # Under an axle that does not roll; or, with all others free, under the axle that Park holds.
    "dollies": ("none", "under", "braked", UNKNOWN),
    "skates": ("none", "under", UNKNOWN),
    "lift_straps": ("off", "on", UNKNOWN),
    "dolly_straps": ("off", "on", UNKNOWN),
    "chains": ("off", "on", UNKNOWN),
    "tow_lights": ("off", "on", UNKNOWN),
    "awake": ("asleep", "awake", UNKNOWN),
    **{f"clamp.{post}": ("off", "on", UNKNOWN) for post in (*CLAMPS, *POSTS)},
    "boost_wait": ("none", "over"),
    "pack_switch": ("off", "on", UNKNOWN),
    # Parked at the scene, on the road, stopped somewhere after that.
    "rolling": ("parked", "rolling", "stopped"),
    "recheck": ("none", "straps", "done"),
    "handed_open": ("no", "told", UNKNOWN),
    "storage": ("as_found", "apart", UNKNOWN),
}
_INDEX = {name: index for index, name in enumerate(VARIABLES)}
ISOLATIONS = tuple(f"isolation.{n}" for n in NUMBERS)
"""The isolations that are told apart: a release that needs more is not pulled."""


class Acts:
    """The act states of one job: immutable, hashable, one value a variable.

    Examples
    --------
    >>> now = Acts.initial().after("chocks_in")
    >>> now["chocks"], now["line"]
    ('in', 'off')
    """

    __slots__ = ("values",)
    values: tuple[str, ...]

    def __init__(self, values: tuple[str, ...]) -> None:
        self.values = values

    @classmethod
    def initial(cls) -> Self:
        """Return the states at the start of a job."""
        return cls(tuple(domain[0] for domain in VARIABLES.values()))

    def __getitem__(self, variable: str) -> str:
        return self.values[_INDEX[variable]]

    @override
    def __eq__(self, other: object) -> bool:
        return isinstance(other, Acts) and self.values == other.values

    @override
    def __hash__(self) -> int:
        return hash(self.values)

    def changed(self) -> dict[str, str]:
        """Return the variables that have changed since the start."""
        start = _INITIAL.values
        return {name: self.values[i] for name, i in _INDEX.items() if self.values[i] != start[i]}

    def with_(self, changes: Mapping[str, str]) -> "Acts":
        """Return these states with some variables set."""
        values = list(self.values)
        for variable, value in changes.items():
            values[_INDEX[variable]] = value
        return Acts(tuple(values))

    def after(self, act: str) -> "Acts":
        """Return the states once the act is done."""
        spec = ACTS[act]
        return self.with_({**dict(spec.resets), spec.variable: spec.becomes})

    def without(self, act: str) -> "Acts":
        """Return the states once the act is taken back: unknown, not its opposite."""
        spec = ACTS[act]
        left = spec.taken_back or worst(spec.variable)
        return self.with_({**dict(spec.resets), spec.variable: left})

    def holds(self, act: str) -> bool:
        """Say whether the act was done and still counts as done."""
        index, standing = _STANDING[act]
        return self.values[index] in standing


_INITIAL = Acts.initial()


def worst(variable: str) -> str:
    """Return the value of a variable that is no longer known."""
    domain = VARIABLES[variable]
    return UNKNOWN if UNKNOWN in domain else domain[0]


@dataclass(frozen=True, slots=True)
class Act:
    """One act: the variable it sets and the value, its opposite, and the states it resets.

    `standing` has the values in which the act counts as done: an isolation that is pinned has
    been opened. `taken_back` is the value when the act never happened, where that is known: a
    truck that has not arrived is still rolling. `kind` is the name people use, where several
    acts share one: it means the act that is asked for, or that is done.
    """

    id: str
    variable: str
    becomes: str
    opposite: str | None = None
    resets: tuple[tuple[str, str], ...] = ()
    standing: tuple[str, ...] = ()
    taken_back: str = ""
    kind: str = ""

    def __post_init__(self) -> None:
        if not self.kind:
            object.__setattr__(self, "kind", self.id.rstrip("0123456789"))
        if not self.standing:
            object.__setattr__(self, "standing", (self.becomes,))


# Somebody at the vehicle may be in line with the rope.
_AT_VEHICLE = (("path", UNKNOWN),)
# A line that was put on again, or may be off, is not tight until someone sees it tight.
_LINE_PUT_ON = (*_AT_VEHICLE, ("tension", UNKNOWN), ("go_neutral", "no"))
_LINE_TAKEN_OFF = (*_AT_VEHICLE, ("tension", "off"), ("go_neutral", "no"))
_SLACK_PUT_IN = (("go_neutral", "no"),)
_HALT = (("path", UNKNOWN),)
# An end that was lifted again, or set down, is not strapped to the lift until someone straps it.
_LIFTED = (*_AT_VEHICLE, ("lift_straps", "off"), ("go_lift", "no"))
_ISOLATION = (("go_release", "no"),)
# An isolation that was opened again, or may have been closed, has not been waited for.
_OPENED = (*_ISOLATION, ("isolation_wait", "none"))
_UNWAITED = (("boost_wait", "none"),)
# The truck has moved; nobody knows whether the line is still on the vehicle.
_ON_THE_ROAD = (
    ("truck", "as_found"),
    ("path", UNKNOWN),
    ("hook", UNKNOWN),
    ("line", UNKNOWN),
    ("keep_off", "untold"),
    ("recheck", "none"),
)
_NOT_NEUTRAL = (("neutral", "unconfirmed"), ("go_neutral", "no"))


def _pairs() -> Iterator[Act]:
    for wheel in WHEELS:
        on, off = f"strapped_{wheel}", f"unstrapped_{wheel}"
        yield Act(on, f"strap.{wheel}", "on", off)
        yield Act(off, f"strap.{wheel}", "off", on)
    for post in (*CLAMPS, *POSTS):
        on, off = f"clamp_on_{post}", f"clamp_off_{post}"
        yield Act(on, f"clamp.{post}", "on", off, resets=_UNWAITED)
        yield Act(off, f"clamp.{post}", "off", on, resets=_UNWAITED)


def _isolation(n: int) -> Iterator[Act]:
    """Yield the acts on one isolation; closed again, or on a damaged vehicle tagged open."""
    name, opened, closed = f"isolation.{n}", f"isolation_opened_{n}", f"isolation_closed_{n}"
    pinned, unpinned = f"isolation_pinned_{n}", f"isolation_unpinned_{n}"
    yield Act(opened, name, "open", closed, resets=_OPENED, standing=("open", "pinned"))
    yield Act(pinned, name, "pinned", unpinned, resets=_ISOLATION)
    yield Act(unpinned, name, "open", pinned, resets=_OPENED,
              standing=("open", "reclosed", "checked"))  # fmt: skip
    yield Act(closed, name, "reclosed", opened, resets=_OPENED, standing=("reclosed", "checked"))
    yield Act(f"isolation_checked_{n}", name, "checked", opened, resets=_OPENED)
    yield Act(f"isolation_tagged_{n}", f"tag.{n}", "tagged")


_LIST = (
    Act(
        "danger_seen",
        "danger",
        "seen",
        "danger_released",
        resets=(
            ("bystanders", UNKNOWN),
            ("help", "not_called"),
            ("path", UNKNOWN),
            ("go_release", "no"),
            ("go_neutral", "no"),
        ),
    ),
    Act("danger_released", "danger", "released", "danger_seen"),
    Act("people_away", "bystanders", "away", "people_back"),
    Act("people_back", "bystanders", "back", "people_away", standing=("back", "away")),
    Act("help_called", "help", "called"),
    Act("truck_set", "truck", "set"),
    Act("warned", "warning", "out"),
    Act("chocks_in", "chocks", "in", "chocks_out", resets=_AT_VEHICLE),
    Act("chocks_out", "chocks", "out", "chocks_in", resets=_AT_VEHICLE),
    Act("charging_ended", "charging", "ended"),
    Act("plug_out", "plug", "out", "plug_in"),
    Act("plug_in", "plug", "in", "plug_out"),
    *(act for n in NUMBERS for act in _isolation(n)),
    Act("isolations_waited", "isolation_wait", "over"),
    Act("left_ajar", "ajar", "ajar"),
    Act("covers_off", "covers", "off", "covers_on"),
    Act("covers_on", "covers", "on", "covers_off"),
    Act("release_cleared", "go_release", "go"),
    Act("release_pulled", "release", "pulled"),
    Act("keep_off_told", "keep_off", "told"),
    Act("hooked", "hook", "on", "unhooked", resets=_LINE_PUT_ON),
    Act("unhooked", "hook", "off", "hooked", resets=_LINE_TAKEN_OFF),
    Act("line_on", "line", "on", "line_off", resets=_LINE_PUT_ON),
    Act("line_off", "line", "off", "line_on", resets=_LINE_TAKEN_OFF),
    Act("tension_on", "tension", "on", "line_slackened", resets=_SLACK_PUT_IN),
    Act("line_slackened", "tension", "off", "tension_on", resets=_SLACK_PUT_IN),
    Act("path_empty", "path", "empty"),
    Act("neutral_cleared", "go_neutral", "go"),
    Act(
        "neutral_selected",
        "gear",
        "neutral",
        "park_set",
        resets=(("path", UNKNOWN), ("neutral", "unconfirmed")),
    ),
    Act("neutral_confirmed", "neutral", "confirmed", resets=_AT_VEHICLE),
    Act("park_set", "gear", "park", "neutral_selected", resets=_NOT_NEUTRAL),
    Act("winch_moves", "winch", "moving", "winch_stops"),
    Act("winch_stops", "winch", "still", "winch_moves", resets=_HALT),
    Act("on_deck", "deck", "deck", "off_deck"),
    Act("off_deck", "deck", "ground", "on_deck"),
    *_pairs(),
    Act("wheels_freed", "wheels", "freed", "wheels_stopped"),
    Act("wheels_stopped", "wheels", "stopped", "wheels_freed"),
    Act("lifter_set", "lifter", "set", resets=_AT_VEHICLE),
    Act("lift_cleared", "go_lift", "go"),
    Act("front_lifted", "lifted", "front", "set_down", resets=_LIFTED),
    Act("rear_lifted", "lifted", "rear", "set_down", resets=_LIFTED),
    Act("set_down", "lifted", "none", "front_lifted", resets=_LIFTED),
    Act("turned", "turned", "turned", resets=_AT_VEHICLE),
    Act("taken_out", "turned", "out", resets=_AT_VEHICLE),
    Act("dollies_under", "dollies", "under", "dollies_out", resets=_AT_VEHICLE),
    Act(
        "braked_on_dollies",
        "dollies",
        "braked",
        "dollies_out",
        resets=_AT_VEHICLE,
        kind="dollies_under",
    ),
    Act("dollies_out", "dollies", "none", "dollies_under", resets=(("dolly_straps", "off"),)),
    Act("skates_under", "skates", "under", "skates_out"),
    Act("skates_out", "skates", "none", "skates_under"),
    Act("lift_strapped", "lift_straps", "on", resets=_AT_VEHICLE),
    Act("dollies_strapped", "dolly_straps", "on", resets=_AT_VEHICLE),
    Act("chains_on", "chains", "on"),
    Act("tow_lights_on", "tow_lights", "on"),
    Act("woken", "awake", "awake"),
    Act("pack_on", "pack_switch", "on", "pack_off", resets=_UNWAITED),
    Act("pack_off", "pack_switch", "off", "pack_on", resets=_UNWAITED),
    Act("boost_waited", "boost_wait", "over"),
    Act("departs", "rolling", "rolling", "arrives", resets=_ON_THE_ROAD),
    Act("arrives", "rolling", "stopped", "departs", taken_back="rolling"),
    Act("straps_checked", "recheck", "straps", standing=("straps", "done")),
    Act("load_checked", "recheck", "done"),
    Act("pays_out", "winch", "paying", "winch_stops"),
    Act("open_told", "handed_open", "told"),
    Act("stored_apart", "storage", "apart"),
)
ACTS: Mapping[str, Act] = {act.id: act for act in _LIST}
_STANDING = {act.id: (_INDEX[act.variable], act.standing) for act in _LIST}

WINCH_RUNS = frozenset({"moving", "paying"})
"""The winch pulls in, or pays out."""

PROTECTIVE = frozenset({"people_away", "people_back", "help_called", "warned"})
"""Acts that are allowed whatever else is going on: people, traffic, help."""


def is_of(said: str, asked: str) -> bool:
    """Say whether the act that somebody said is the act that is asked for, or of its kind.

    Examples
    --------
    >>> is_of("isolation_opened_1", "isolation_opened_2"), is_of("hooked", "line_on")
    (True, False)
    >>> is_of("dollies_under", "braked_on_dollies")
    True
    """
    return ACTS[said].kind == ACTS[asked].kind


def that_stands(acts: Acts, said: str) -> str | None:
    """Return the act that somebody said if it is done, or a done act of its kind and variable.

    Examples
    --------
    >>> that_stands(Acts.initial().after("braked_on_dollies"), "dollies_under")
    'braked_on_dollies'
    >>> that_stands(Acts.initial().after("isolation_opened_2"), "isolation_opened_1")
    """
    spec = ACTS[said]
    kin = (act.id for act in _LIST if (act.kind, act.variable) == (spec.kind, spec.variable))
    return next((one for one in kin if acts.holds(one)), None)
