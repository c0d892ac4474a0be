"""Pull: the force to move a vehicle on a surface, up a slope, with wheels locked or mired.

Tables from different sources disagree, by up to ten times in mud. They are kept apart, by name.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import atan, degrees, hypot, radians, sin
from types import MappingProxyType
from typing import Final

from flows.errors import OutOfRangeError, require_whole
from flows.figures.result import Amount, Result, step, up

SUPPLIER: Final = "rigging supplier sheet"
COMMONWEALTH: Final = "Commonwealth rule"
TRADE: Final = "trade rule"
ARMY: Final = "US Army, from memory"
GIVEN: Final = "as asked"
EXACT: Final = "sine of the angle"
RULE: Final = "angle over 60, Commonwealth rule"

# Parts of the weight. From the Commonwealth rule hard, hard wet sand and bog were read, the others
# are from memory; from the Army's only the 3 was seen.
SURFACES: Final[Mapping[str, Mapping[str, Fraction]]] = MappingProxyType(
    {
        SUPPLIER: MappingProxyType(
            {
                "hard": Fraction("0.04"),
                "grass": Fraction("0.14"),
                "hard wet sand": Fraction("0.17"),
                "soft wet sand": Fraction("0.20"),
                "gravel": Fraction("0.25"),
                "mud": Fraction("0.33"),
                "mud to the rim": Fraction("0.75"),
                "mud to the hub": Fraction("1.00"),
                "mud to the body": Fraction("1.33"),
            }
        ),
        COMMONWEALTH: MappingProxyType(
            {
                "hard": Fraction(1, 25),
                "grass": Fraction(1, 7),
                "hard wet sand": Fraction(1, 6),
                "soft wet sand": Fraction(1, 5),
                "gravel": Fraction(1, 5),
                "loose sand": Fraction(1, 4),
                "mud": Fraction(1, 3),
                "bog": Fraction(1, 2),
            }
        ),
        TRADE: MappingProxyType(
            {"hard": Fraction(1, 10), "grass": Fraction("0.33"), "gravel": Fraction("0.33")}
        ),
        ARMY: MappingProxyType(
            {
                "mud to the wheels": Fraction(1),
                "mud to the fenders": Fraction(2),
                "mud to the cab": Fraction(3),
            }
        ),
    }
)
# Parts of the weight added by locked wheels, by how many axles they are on.
LOCKED: Final[Mapping[str, Mapping[str, Fraction]]] = MappingProxyType(
    {
        SUPPLIER: MappingProxyType(
            {"none": Fraction(0), "half": Fraction("0.33"), "most": Fraction("0.67")}
        ),
        COMMONWEALTH: MappingProxyType(
            {"none": Fraction(0), "half": Fraction(2, 3), "most": Fraction(2, 3)}
        ),
        TRADE: MappingProxyType(
            {"none": Fraction(0), "half": Fraction(2, 3), "most": Fraction(2, 3)}
        ),
        ARMY: MappingProxyType({"none": Fraction(0)}),
        GIVEN: MappingProxyType({"none": Fraction(0)}),
    }
)
RESERVE: Final = Fraction(12, 10)
"""The supplier sheet's worked example adds a fifth to its result."""


def grade_exact(grade_pct: int) -> Fraction:
    """Return the part of a weight that pulls down a grade, ``sin(atan(grade))``.

    Parameters
    ----------
    grade_pct : int
        Rise over run, 0 to 100 percent.

    Examples
    --------
    >>> [round(float(grade_exact(pct)), 2) for pct in (20, 40, 60, 80, 100)]
    [0.2, 0.37, 0.51, 0.62, 0.71]
    """
    require_whole("grade", grade_pct, 0, 100, "percent")
    rise = grade_pct / 100
    return Fraction(rise / hypot(1.0, rise))


def grade_rule(grade_pct: int) -> Fraction:
    """Return the same by the field rule: a sixtieth of the weight for each degree.

    It is a little below the sine up to 30 degrees, where both are a half; at 45 degrees it is 0.75
    instead of 0.71.

    Examples
    --------
    A grade of 100 percent is 45 degrees.

    >>> float(grade_rule(100))
    0.75
    """
    require_whole("grade", grade_pct, 0, 100, "percent")
    return Fraction(degrees(atan(grade_pct / 100))) / 60


@dataclass(frozen=True, slots=True)
class Slope:
    """A slope uphill toward the winch, in percent or in degrees: the other is 0.

    Attributes
    ----------
    grade_pct : int
        Rise over run, 0 to 100 percent.
    angle_deg : int
        The angle, 0 to 45 degrees.
    """

    grade_pct: int = 0
    angle_deg: int = 0

    def __post_init__(self) -> None:
        require_whole("grade", self.grade_pct, 0, 100, "percent")
        require_whole("slope", self.angle_deg, 0, 45, "degrees")
        if self.grade_pct and self.angle_deg:
            both = f"{self.grade_pct} percent and {self.angle_deg} degrees"
            raise OutOfRangeError("slope", both, "percent or degrees, not both")

    @property
    def exact(self) -> Fraction:
        """The part of a weight that pulls down it, by the sine of the angle.

        Examples
        --------
        >>> [round(float(one.exact), 3) for one in (Slope(27), Slope(angle_deg=15))]
        [0.261, 0.259]
        """
        if self.angle_deg:
            return Fraction(sin(radians(self.angle_deg)))
        return grade_exact(self.grade_pct)

    @property
    def rule(self) -> Fraction:
        """The same by the field rule, a sixtieth for each degree.

        Examples
        --------
        >>> float(Slope(angle_deg=15).rule)
        0.25
        """
        return Fraction(self.angle_deg, 60) if self.angle_deg else grade_rule(self.grade_pct)

    @property
    def source(self) -> str:
        """Which of the two is larger, and so counts."""
        return EXACT if self.exact > self.rule else RULE

    @property
    def given(self) -> tuple[str, int]:
        """It as an input: its name with the unit, and its number."""
        return ("slope_deg", self.angle_deg) if self.angle_deg else ("grade_pct", self.grade_pct)


LEVEL: Final = Slope()


def pull(
    weight_lb: int, surface: str, table: str, *, slope: Slope = LEVEL, locked: str = "none"
) -> Result:
    """Return the force to pull a vehicle: the sum for surface, slope and locked wheels.

    ``W (surface + slope + locked)``, the slope by the larger of the sine and the field rule.

    Parameters
    ----------
    weight_lb : int
        W, 400 to 100,000 lb.
    surface, table : str
        A surface of one of the tables `SURFACES`; or, with `GIVEN`, the part of the weight that
        it resists with by a source of one's own: "150 percent", 1 to 400.
    slope : Slope
        Uphill toward the winch.
    locked : {"none", "half", "most"}
        Wheels that do not turn: none, on up to half of the axles, on more.

    Returns
    -------
    Result
        ``"pull"`` in lb, rounded up, and ``"pull_with_reserve"``, a fifth more.

    Raises
    ------
    OutOfRangeError
        If a number is out of range or a word is not in the table.

    Examples
    --------
    4,000 lb on a hard surface, a tenth by the trade rule; on grass a third, printed as 33 percent.

    >>> [pull(4000, on, TRADE).amount("pull") for on in ("hard", "grass")]
    [400, 1320]
    """
    require_whole("weight", weight_lb, 400, 100_000, "lb")
    on = _part(surface) if table == GIVEN else _pick("surface", surface, SURFACES, table)
    stuck = _pick("locked wheels", locked, LOCKED, table)
    exact, rule = slope.exact, slope.rule
    of = {"weight_lb": weight_lb}
    up_it = weight_lb * max(exact, rule)
    parts = {"surface": weight_lb * on, "slope": up_it, "locked": weight_lb * stuck}
    total = sum(parts.values(), Fraction(0))
    steps = (
        step("surface", of | {"surface_x": on}, parts["surface"], "lb", f"{table}, {surface}"),
        step("slope", of | {"exact_x": exact, "rule_x": rule}, parts["slope"], "lb", slope.source),
        step("locked", of | {"locked_x": stuck}, parts["locked"], "lb", f"{table}, {locked}"),
        step("pull", {f"{name}_lb": part for name, part in parts.items()}, total, "lb", table),
        step("reserve", {"pull_lb": total}, total * RESERVE, "lb", SUPPLIER),
    )
    return Result(
        "pull",
        (("weight_lb", weight_lb), ("surface", surface), ("table", table), slope.given,
         ("locked", locked)),
        (Amount("pull", up(total), "lb"), Amount("pull_with_reserve", up(total * RESERVE), "lb")),
        (),
        steps,
        f"{table}, {slope.source}",
    )  # fmt: skip


def _part(said: str) -> Fraction:
    """Return a part of the weight that was said in percent."""
    number = said.removesuffix(" percent")
    if not number.isdecimal() or not 1 <= int(number) <= 400:
        raise OutOfRangeError("part of the weight", said, "1 to 400 percent")
    return Fraction(int(number), 100)


def _pick(
    what: str, name: str, tables: Mapping[str, Mapping[str, Fraction]], table: str
) -> Fraction:
    if table not in tables:
        raise OutOfRangeError("table", table, ", ".join(tables))
    if name not in tables[table]:
        raise OutOfRangeError(what, name, ", ".join(tables[table]))
    return tables[table][name]
