"""The world of the safety rules: a job and a turn, reduced to facts, acts and messages."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from flows.job.acts import ACTS, UNKNOWN, WHEELS, WINCH_RUNS, Acts


@dataclass(frozen=True, slots=True)
class Place:
    """A place on the vehicle that a hook or a lift touches.

    `at_in` is how far it is behind the front axle [in], less than 0 before it; None where that
    is not known.
    """

    name: str
    at_in: int | None = None


@dataclass(frozen=True)
class World:
    """A job as the rules see it: only facts, act states, the margin and the window.

    Parameters
    ----------
    facts
        Known facts by name; a missing fact is not known, and the worst is assumed.
    isolations
        How many isolations the card's release requires; None where the card says nothing.
    holding_ends, keep_off
        Ends with holding points, and places no hook goes; None without a card.
    battery
        From where to where its battery is, behind the front axle [in]; None where the card says
        nothing.
    verdict, decided_by
        The margin's word, and the role that decided against or beyond it.
    lift
        The lift's word: "go", "close" or "no-go".
    window
        "none", "open", "ended", or "unpromised".
    open_skips
        Critical steps left out and not settled.
    donor
        The donor: "combustion", "electric" or "pack"; None while nobody said.
    """

    facts: Mapping[str, str] = field(default_factory=dict)
    acts: Acts = field(default_factory=Acts.initial)
    isolations: int | None = None
    holding_ends: frozenset[str] | None = None
    keep_off: frozenset[str] = frozenset()
    battery: tuple[int, int] | None = None
    verdict: str | None = None
    decided_by: str | None = None
    window: str = "none"
    lift: str | None = None
    open_skips: int = 0
    donor: str | None = None
    card_allows_electric_donor: bool = False

    def fact(self, name: str) -> str | None:
        """Return a fact, None when it is not known."""
        return self.facts.get(name)

    def once(self, act: str) -> "World":
        """Return the world once an act is done, as far as it is one that leaves a state."""
        return replace(self, acts=self.acts.after(act)) if act in ACTS else self

    @property
    def is_damaged(self) -> bool:
        """Crash, water, fire nearby, not known, or a danger that was released.

        A job has its own (`flows/job/state.py`), apart on purpose: the rules judge it.
        """
        return self.fact("history") != "breakdown" or self.acts["danger"] == "released"

    @property
    def line_holds(self) -> bool:
        """A tensioned line holds it: only level with or downhill of the truck."""
        tied = all(self.acts[part] == "on" for part in ("hook", "line", "tension"))
        return tied and self.fact("slope") in {"level", "downhill"}

    @property
    def slides(self) -> bool:
        """It never left Park, with skates or strapped dollies where Park holds it."""
        braked = self.acts["dollies"] == "braked" and self.acts["dolly_straps"] == "on"
        carried = self.acts["skates"] == "under" or braked
        return carried and self.acts["gear"] in {"as_found", "park"}

    @property
    def is_out_of_park(self) -> bool:
        """It is in neutral, or may be: then a neutral window may be open too."""
        return self.acts["gear"] in {"neutral", UNKNOWN}

    @property
    def is_under(self) -> bool:
        """Dollies are under its wheels that do not roll, or skates where no wheel is missing."""
        on_skates = self.acts["skates"] == "under" and self.fact("wheels") != "missing"
        return on_skates or self.acts["dollies"] == "under"

    @property
    def pull_stands(self) -> bool:
        """The winch runs with everything it needs: line, empty path, a vehicle free to move."""
        stands = self.line_holds and self.acts["path"] == "empty" and self.acts["danger"] != "seen"
        lets_go = self.window in {"open", "unpromised"} or self.slides
        rolls = self.is_under or self.fact("wheels") in {None, "roll"}
        return stands and lets_go and rolls and self.acts["winch"] in WINCH_RUNS

    @property
    def is_carried(self) -> bool:
        """One end hangs strapped on a lift, and dollies are strapped under the other axle."""
        strapped = self.acts["lift_straps"] == self.acts["dolly_straps"] == "on"
        lifted = self.acts["lifted"] in {"front", "rear"}
        return lifted and strapped and self.acts["dollies"] == "under"

    @property
    def is_held(self) -> bool:
        """Chocked both ways, held by the line, strapped on the deck, or all wheels carried."""
        strapped = all(self.acts[f"strap.{wheel}"] == "on" for wheel in WHEELS)
        carried = (self.acts["deck"] == "deck" and strapped) or (
            self.acts["lifted"] in {"front", "rear"} and self.acts["dollies"] == "under"
        )
        return self.acts["chocks"] == "in" or self.line_holds or carried

    @property
    def is_left_held(self) -> bool:
        """It is held once the truck's line is gone: chocked, aboard, carried, or given up."""
        chocked = self.acts["chocks"] == "in" or self.acts["danger"] == "seen"
        return chocked or self.acts["deck"] == "deck" or self.is_carried


@dataclass(frozen=True, slots=True)
class Asked:
    """A message as the rules see it: what it asks for, its priority, whether it wants an answer.

    Parameters
    ----------
    acts
        The acts it asks for, in the order in which they are done.
    asks
        The fact it asks for, or reads back.
    at
        The place on the vehicle that it names for a hook or a lift.
    """

    acts: tuple[str, ...] = ()
    priority: str = "reply"
    needs_answer: bool = False
    to_driver: bool = True
    is_critical: bool = False
    asks: str = ""
    at: Place | None = None


@dataclass(frozen=True, slots=True)
class Hold:
    """A neutral hold: its number in the job, whether it still counts, and its latest end [ns].

    `ends_ns` is None where nothing is promised; on which boot of the clock, `boot` says.
    """

    serial: int
    is_open: bool
    ends_ns: int | None
    boot: str = ""


@dataclass(frozen=True, slots=True)
class Release:
    """A release from danger: by whom, whether a time was stated, and whether after the danger."""

    by: str
    is_timed: bool
    is_after: bool


@dataclass(frozen=True, slots=True)
class Skipped:
    """A step that was left out: its acts, and the reason that was given."""

    acts: tuple[str, ...]
    reason: str


@dataclass(frozen=True)
class TurnSeen:
    """A whole turn as the rules see it.

    Parameters
    ----------
    heard
        The words as they were said or typed; the rules have an ear of their own for them.
    halted
        After it nothing is asked until somebody says to go on.
    decided
        Deciding facts that became known in this turn, and how: only "read_back" counts.
    resumed
        The turn came after an interruption.
    said_resume
        A resume message (job, last, next) is among the messages.
    skipped
        What was left out in this turn.
    released
        The release of the vehicle in this turn, where there was one.
    hold_before, hold_after
        The newest neutral hold before and after.
    """

    before: World
    after: World
    messages: tuple[Asked, ...] = ()
    heard: str = ""
    halted: bool = False
    decided: tuple[tuple[str, str], ...] = ()
    resumed: bool = False
    said_resume: bool = False
    skipped: tuple[Skipped, ...] = ()
    overridden_by: str | None = None
    released: Release | None = None
    hold_before: Hold | None = None
    hold_after: Hold | None = None
