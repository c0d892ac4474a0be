"""The world of the safety rules: a job and a turn, reduced to facts, acts and messages."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from flows.job.acts import UNKNOWN, WHEELS, WINCH_RUNS, Acts


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
    verdict, decided_by
        The margin's word, and the role that decided against or beyond it.
    lift
        The lift's word: "go", "close" or "no-go".
    window
        "none", "open", "ended", or "unpromised".
    open_skips
        Critical steps left out and not settled.
    donor
        The donor: "combustion", "electric" or "pack".
    """

    facts: Mapping[str, str] = field(default_factory=dict)
    acts: Acts = field(default_factory=Acts.initial)
    isolations: int | None = None
    holding_ends: frozenset[str] | None = None
    keep_off: frozenset[str] = frozenset()
    verdict: str | None = None
    decided_by: str | None = None
    window: str = "none"
    lift: str | None = None
    open_skips: int = 0
    donor: str = "combustion"
    card_allows_electric_donor: bool = False

    def fact(self, name: str) -> str | None:
        """Return a fact, None when it is not known."""
        return self.facts.get(name)

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
        """Skates or dollies are under its wheels that do not roll."""
        return "under" in (self.acts["skates"], self.acts["dollies"])

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


@dataclass(frozen=True, slots=True)
class Asked:
    """A message as the rules see it: the acts it asks for, its priority, whether it asks."""

    acts: tuple[str, ...] = ()
    priority: str = "reply"
    needs_answer: bool = False
    to_driver: bool = True
    is_critical: bool = False
    of: str | None = None


@dataclass(frozen=True)
class TurnSeen:
    """A whole turn as the rules see it.

    Parameters
    ----------
    heard_words
        The universal words and danger signs in the message.
    decided
        Deciding facts that became known in this turn, and how: only "read_back" counts.
    resumed
        The turn came after an interruption.
    skipped
        (item's acts, reason) of steps left out in this turn.
    window_before_ns, window_after_ns
        End of the same neutral window before and after.
    released
        Who released the vehicle in this turn, and whether that was after the danger was seen.
    said_resume
        A resume message (job, last, next) is among the messages.
    """

    before: World
    after: World
    messages: tuple[Asked, ...] = ()
    danger_named: bool = False
    decided: tuple[tuple[str, str], ...] = ()
    resumed: bool = False
    said_resume: bool = False
    skipped: tuple[tuple[tuple[str, ...], str], ...] = ()
    overridden_by: str | None = None
    released: tuple[str, bool] | None = None
    window_before_ns: int | None = None
    window_after_ns: int | None = None
    window_serial_same: bool = True
