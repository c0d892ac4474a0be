"""Window: whether a pull ends before a neutral hold does, by the speed of each layer of rope."""

from fractions import Fraction
from functools import lru_cache
from math import ceil
from typing import Final

from flows.errors import require_whole
from flows.figures.result import DEFINITION, Amount, Check, Result, Step, step
from flows.figures.winch import LAYER_SOURCE, Winch

USED_PCT: Final = 50
"""Our own: at most half of a hold is planned for the pull. The rest is for stops and steering."""
SPEED_SOURCE: Final = "line speed grows with the radius of the layer"
_TENTHS: Final = 10


@lru_cache(maxsize=1024)
def window(
    one: Winch, parts: int, path_ft: tuple[int, int], speed_ft_min: int, hold_min: int
) -> Result:
    """Return how many minutes a pull takes, checked against the neutral hold.

    For each foot of rope ``1 / (v1 (D + (2n - 1) d) / (D + d))`` minutes, with n the layer that
    it is wound on; a foot of travel takes as many feet of rope as there are parts of line.

    Parameters
    ----------
    one : Winch
        The winch with its rope.
    parts : int
        Parts of line, 1 to 6.
    path_ft : tuple of int
        From the winch to the vehicle, and how far it is pulled, 1 to 500 ft, the second at most
        the first.
    speed_ft_min : int
        v1, line speed under load on the first layer, 1 to 100 ft a minute, measured.
    hold_min : int
        How long neutral holds, 1 to 240 minutes.

    Raises
    ------
    OutOfRangeError
        If a number is out of range or the rope is too short.

    Notes
    -----
    Source: the rope's speed is the drum's speed times its radius. Half of the hold is our own.

    Examples
    --------
    One part, 22 ft of rope all on the first layer at 5 ft a minute: 4.4 minutes of 15.

    >>> wide = Winch((8000,), 202, 3200, 24, 100)
    >>> found = window(wide, 1, (40, 22), 5, 30)
    >>> found.amount("minutes"), found.checks[0].bound, found.is_over
    (5, 15, False)
    """
    _require(parts, path_ft, speed_ft_min, hold_min)
    reach, distance = path_ft
    first, last = parts * reach, parts * (reach - distance)
    one.layer_at(first)  # refuses a rope that is too short
    layers = [one.layer_at(out) for out in range(last, first)]
    minutes = sum((1 / (speed_ft_min * _faster(one, layer)) for layer in layers), Fraction(0))
    usable = hold_min * USED_PCT // 100
    return Result(
        "window",
        (("parts", parts), ("reach_ft", reach), ("distance_ft", distance),
         ("speed", f"{speed_ft_min} ft a minute"), ("hold_min", hold_min)),
        (Amount("minutes", ceil(minutes), "min"), Amount("usable", usable, "min")),
        (Check("half of the hold", ceil(minutes), max(usable, 1), "min", "ours"),),
        _steps(parts, distance, speed_ft_min, layers, minutes),
        f"{SPEED_SOURCE}, half of the hold is ours",
    )  # fmt: skip


def _require(parts: int, path_ft: tuple[int, int], speed_ft_min: int, hold_min: int) -> None:
    reach, distance = path_ft
    for what, value, most, unit in (
        ("parts of line", parts, 6, "parts"),
        ("reach", reach, 500, "ft"),
        ("pull distance", distance, reach, "ft"),
        ("line speed", speed_ft_min, 100, "ft a minute"),
        ("neutral hold", hold_min, 240, "minutes"),
    ):
        require_whole(what, value, 1, most, unit)


def _steps(
    parts: int, distance: int, speed: int, layers: list[int], minutes: Fraction
) -> tuple[Step, ...]:
    rope = parts * distance
    put_in = {"parts_count": parts, "distance_ft": distance}
    ends = {"from_count": min(layers), "to_count": max(layers)}
    took = {"speed_ft": speed, "rope_ft": rope}
    return (
        step("rope", put_in, Fraction(rope), "ft", DEFINITION),
        step("layers", ends, Fraction(max(layers)), "count", LAYER_SOURCE),
        step("minutes", took, minutes, "min", SPEED_SOURCE),
    )


def _faster(one: Winch, layer: int) -> Fraction:
    across = one.drum_64in + (2 * layer - 1) * one.rope_64in
    return Fraction(across, one.drum_64in + one.rope_64in)
