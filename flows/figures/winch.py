"""Winch: its pull on each layer of rope, and how many parts of line are enough.

Sources differ on how much of the pull a sheave takes. Their models are kept apart, by name.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import floor
from types import MappingProxyType
from typing import Final

from flows.errors import OutOfRangeError, require_whole
from flows.figures.result import DEFINITION, Amount, Check, Result, Step, down, step, up

ARMY: Final = "US Army"
PLAIN: Final = "wire rope manual, plain bearings"
ROLLER: Final = "wire rope manual, roller bearings"
HANDBOOK: Final = "pipeline handbook, plain bearings"
LAYER_SOURCE: Final = "torque of the drum, as a maker's table of pull by layer"
WRAPS_KEPT: Final = 5
"""Wraps left on the bare drum: common practice, no source."""
MOST_PARTS: Final = 6
# Less than pi: a layer then takes less rope, so the rope reaches a higher and weaker layer.
_PI: Final = Fraction(31415, 10_000)
_IN64_IN_FT: Final = 64 * 12


@dataclass(frozen=True, slots=True)
class Winch:
    """A winch with its rope.

    Attributes
    ----------
    layers_lb : tuple of int
        Its rating on each layer from the first; further layers are computed from the last. The
        rating of the bare drum is that of the first layer. 1,000 to 100,000 lb.
    drum_64in, width_64in, rope_64in : int
        Drum diameter and width, rope diameter, in 64ths of an inch; 64 to 3,200, rope 8 to 80.
    rope_length_ft : int
        20 to 500.
    """

    layers_lb: tuple[int, ...]
    drum_64in: int
    width_64in: int
    rope_64in: int
    rope_length_ft: int

    def __post_init__(self) -> None:
        for name, low, high in (
            ("drum_64in", 64, 3_200),
            ("width_64in", 64, 3_200),
            ("rope_64in", 8, 80),
            ("rope_length_ft", 20, 500),
        ):
            require_whole(f"winch {name}", getattr(self, name), low, high, name.rsplit("_", 1)[1])
        for pull in self.layers_lb or (0,):
            require_whole("winch layer", pull, 1_000, 100_000, "lb")

    def pull_lb(self, layer: int) -> int:
        """Return its pull on a layer, rounded down.

        Examples
        --------
        A drum of 80 mm, 202 of 64 in, with rope of 5/16 in: its table says 6,777 lb on the second
        layer, the formula 8,000 x (202 + 20) / (202 + 60) = 6,778.

        >>> Winch((8000,), 202, 576, 20, 75).pull_lb(2)
        6778
        """
        require_whole("layer", layer, 1, 20, "layers")
        last = len(self.layers_lb)
        if layer <= last:
            return self.layers_lb[layer - 1]
        pull = layer_pull(self.layers_lb[-1], self.drum_64in, self.rope_64in, last, layer)
        return down(pull)

    def layer_at(self, out_ft: int) -> int:
        """Return the layer wound when this much rope is out; `WRAPS_KEPT` wraps stay on the drum.

        Raises
        ------
        OutOfRangeError
            If the rope is not that long, less the wraps that stay on the drum.

        Examples
        --------
        A drum of 202 and rope of 24 of 64 in, 24 wraps side by side: the first layer takes
        24 x 3.1415 x 226 / 768 = 22.2 ft, the second 26.9, the third 31.6.

        >>> winch = Winch((8000,), 202, 576, 24, 75)
        >>> [winch.layer_at(out) for out in (60, 52, 25, 0)]
        [1, 2, 3, 3]
        """
        wrap_ft = _PI * (self.drum_64in + self.rope_64in) / _IN64_IN_FT
        most = floor(self.rope_length_ft - WRAPS_KEPT * wrap_ft)
        require_whole("line out", out_ft, 0, max(most, 0), "ft")
        wraps = self.width_64in // self.rope_64in
        left, layer = Fraction(self.rope_length_ft - out_ft), 1
        while left > (layer_ft := wraps * _PI * self._across(layer) / _IN64_IN_FT):
            left, layer = left - layer_ft, layer + 1
        return layer

    def _across(self, layer: int) -> int:
        """Diameter of a layer, from rope middle to rope middle, in 64ths of an inch."""
        return self.drum_64in + (2 * layer - 1) * self.rope_64in


def layer_pull(pull_lb: int, drum: int, rope: int, from_layer: int, layer: int) -> Fraction:
    """Return the pull on another layer: the drum's torque stays, its radius grows.

    ``F1 (D + (2 m - 1) d) / (D + (2 n - 1) d)``.

    Parameters
    ----------
    pull_lb : int
        F1 on layer m, pounds.
    drum, rope : int
        D and d, in one unit of length.
    from_layer, layer : int
        m and n, 1 or more.

    Notes
    -----
    Source: definition of torque; reproduces a winch maker's table of pull by layer within 1 lb,
    with a drum diameter fitted to it.

    Examples
    --------
    >>> [round(layer_pull(8000, 80_000, 7_937, 1, layer)) for layer in (2, 3, 4)]
    [6777, 5878, 5190]
    """
    here, there = (drum + (2 * n - 1) * rope for n in (from_layer, layer))
    return Fraction(pull_lb * here, there)


def army_line(load_lb: Fraction, parts: int) -> Fraction:
    """Return the fall line by the US Army method: each sheave takes a tenth of the load.

    ``(LR + LR / 10 x sheaves) / parts`` with one sheave fewer than parts.

    Notes
    -----
    Source: US Army 63H34F01 practical exercise (FM 9-43-2, FM 5-125). The fall line has to be
    less than the winch's capacity (TB 9-2350-292-10).

    Examples
    --------
    >>> int(army_line(Fraction(13_000), 2)), int(army_line(Fraction(10_000), 4))
    (7150, 3250)
    """
    return (load_lb + load_lb / 10 * (parts - 1)) / parts


def lead_line_factor(parts: int, k: Fraction, extra_sheaves: int = 0) -> Fraction:
    """Return the part of the load on the lead line, if each sheave takes a part of its pull.

    ``K^N (K - 1) / (K^N - 1) x K^extra``: as many sheaves as parts, plus the extra sheaves.

    Parameters
    ----------
    parts : int
        N, 1 to 20.
    k : Fraction
        1.09 with plain bearings, 1.04 with roller bearings.
    extra_sheaves : int
        More sheaves that the lead line runs over; -1 if the line comes to the winch straight
        from the load, with one sheave fewer than parts.

    Notes
    -----
    Source: Wire Rope Users Manual, 4th ed., p. 88.

    Examples
    --------
    >>> factor = lead_line_factor(4, Fraction("1.09"))
    >>> round(float(factor), 3), round(float(lead_line_factor(4, Fraction("1.09"), 2)), 3)
    (0.309, 0.367)
    """
    require_whole("parts of line", parts, 1, 20, "parts")
    if k <= 1:
        raise OutOfRangeError("sheave factor", k, "more than 1")
    return k**parts * (k - 1) / (k**parts - 1) * k**extra_sheaves


def tackle_advantage(parts: int, efficiency: Fraction) -> Fraction:
    """Return the mechanical advantage of a tackle, ``E (1 - E^n) / (1 - E)``.

    Notes
    -----
    Source: Pipeline Rules of Thumb Handbook, p. 6: E 0.917 with plain, 0.962 with roller bearings.

    Examples
    --------
    >>> round(float(tackle_advantage(4, Fraction("0.917"))), 3)
    3.236
    """
    require_whole("parts of line", parts, 1, 20, "parts")
    if not 0 < efficiency < 1:
        raise OutOfRangeError("sheave efficiency", efficiency, "between 0 and 1")
    return efficiency * (1 - efficiency**parts) / (1 - efficiency)


def _manual(k: str) -> Callable[[Fraction, int], Fraction]:
    return lambda load, parts: load * lead_line_factor(parts, Fraction(k), -1)


MODELS: Final[Mapping[str, Callable[[Fraction, int], Fraction]]] = MappingProxyType(
    {
        ARMY: army_line,
        PLAIN: _manual("1.09"),
        ROLLER: _manual("1.04"),
        HANDBOOK: lambda load, parts: (
            load if parts == 1 else load / tackle_advantage(parts, Fraction("0.917"))
        ),
    }
)
"""The line's pull by each model, for a load and parts of line; one sheave fewer than parts, except
in the handbook, whose tackle has as many sheaves as parts."""


def winch(one: Winch, pull_lb: int, reach_ft: int, distance_ft: int, model: str) -> Result:
    """Return the fewest parts of line with which the winch is strong enough all the way.

    The winch is weakest at the end of the pull, with the most rope on the drum.

    Parameters
    ----------
    one : Winch
        The winch with its rope.
    pull_lb : int
        Pull on the vehicle, 1 to 200,000 lb.
    reach_ft, distance_ft : int
        From the winch to the vehicle, 1 to 500 ft, and how far it is pulled, at most that far.
    model : str
        One of `MODELS`.

    Raises
    ------
    OutOfRangeError
        If a number is out of range, or even `MOST_PARTS` parts are not enough, or the rope is too
        short for the parts needed.

    Examples
    --------
    13,000 lb on a winch of 8,000 lb: 2 parts, 14,300 / 2 = 7,150 lb.

    >>> strong = Winch((8000, 7999), 202, 3200, 24, 200)
    >>> found = winch(strong, 13_000, 40, 30, ARMY)
    >>> found.amount("parts"), found.amount("line")
    (2, 7150)
    """
    require_whole("pull", pull_lb, 1, 200_000, "lb")
    require_whole("reach", reach_ft, 1, 500, "ft")
    require_whole("pull distance", distance_ft, 1, reach_ft, "ft")
    line_of = MODELS.get(model)
    if line_of is None:
        raise OutOfRangeError("sheave model", model, ", ".join(MODELS))
    for parts in range(1, MOST_PARTS + 1):
        one.layer_at(parts * reach_ft)  # refuses a rope that is too short
        line = line_of(Fraction(pull_lb), parts)
        layer = one.layer_at(parts * (reach_ft - distance_ft))
        if line < one.pull_lb(layer):
            return _found(one, (pull_lb, reach_ft, distance_ft), (parts, layer, line), model)
    raise OutOfRangeError("pull", pull_lb, f"what {MOST_PARTS} parts of line pull")


def _found(
    one: Winch, asked: tuple[int, int, int], found: tuple[int, int, Fraction], model: str
) -> Result:
    pull_lb, reach_ft, distance_ft = asked
    parts, layer, line = found
    rating = one.pull_lb(layer)
    return Result(
        "winch",
        (("pull_lb", pull_lb), ("reach_ft", reach_ft), ("distance_ft", distance_ft),
         ("model", model)),
        (
            Amount("parts", parts, "count"),
            Amount("line", up(line), "lb"),
            Amount("layer", layer, "count"),
            Amount("rope", parts * reach_ft, "ft"),
        ),
        (Check("winch on that layer", up(line), rating, "lb", "truck card"),),
        tuple(_steps(one, asked, found, model)),
        f"{model}, {LAYER_SOURCE}",
    )  # fmt: skip


def _steps(
    one: Winch, asked: tuple[int, int, int], found: tuple[int, int, Fraction], model: str
) -> list[Step]:
    pull_lb, reach_ft, distance_ft = asked
    parts, layer, line = found
    rope = {"parts_count": parts, "reach_ft": reach_ft}
    end = {"parts_count": parts, "reach_ft": reach_ft, "distance_ft": distance_ft}
    on_drum = one.rope_length_ft - parts * (reach_ft - distance_ft)
    wound = {"rope_ft": one.rope_length_ft, "on_drum_ft": on_drum}
    rating = Fraction(one.pull_lb(layer))
    first = {"first_lb": one.layers_lb[0], "layer_count": layer}
    put_in = {"pull_lb": pull_lb, "parts_count": parts}
    return [
        step("rope_out", rope, Fraction(parts * reach_ft), "ft", DEFINITION),
        step("end_out", end, Fraction(parts * (reach_ft - distance_ft)), "ft", DEFINITION),
        step("layer", wound, Fraction(layer), "count", LAYER_SOURCE),
        step("rating", first, rating, "lb", LAYER_SOURCE),
        step("line", put_in, line, "lb", model),
    ]
