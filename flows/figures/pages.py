"""Figures as lines of text to read: a margin with its table and its working, a vehicle number.

Every number is shown with its source; the words are in `flows/texts/`.
"""

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any, Final

from flows.figures.class_over import table_over
from flows.figures.drawings.bars import Bar, bar_rows, shown_name
from flows.figures.drawings.margin_drawing import position_words, summary, title
from flows.figures.margin import Margin
from flows.figures.result import Step
from flows.figures.vin import (
    CHECK_POSITION,
    NEVER_USED,
    VALUES,
    YEAR_POSITION,
    Problem,
    Vin,
    check_digit,
)
from flows.figures.working import working
from flows.texts import figure_texts

_SUMS: Final = ("front", "rear", "gross", "combination")


def margin_page(m: Margin, truck: str, vehicle: str) -> list[str]:
    """Return a margin as lines: verdict, position, a table of all limits, and the working.

    Parameters
    ----------
    m : Margin
        The answer.
    truck, vehicle : str
        Their names.

    Examples
    --------
    >>> from flows.figures.margin import Load, Truck, margin
    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> m = margin(truck, Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True))
    >>> for line in margin_page(m, "Wren", "Harrow")[:3]:
    ...     print(line)
    Close. Wren with Harrow.
    Rear axle: 52 lb left.
    Drawn 0 in from the headboard. No position is a go.
    """
    return [*margin_table(m, truck, vehicle), "", *working_page(m)]


def margin_table(m: Margin, truck: str, vehicle: str) -> list[str]:
    """Return a margin as lines without its working: verdict, position, inputs, all limits.

    Examples
    --------
    >>> from flows.figures.margin import Load, Truck, margin
    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> m = margin(truck, Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True))
    >>> margin_table(m, "Wren", "Harrow")[1]
    'Rear axle: 52 lb left.'
    """
    said = figure_texts()["page"]
    return [
        title(m, truck, vehicle),
        summary(m),
        position_words(m),
        _inputs(m, said),
        "",
        *_table(m, said["table_heads"]),
        "",
        *_notes(m, said),
    ]


def margin_lines(m: Margin, truck: str, vehicle: str) -> list[str]:
    """Return a margin as lines for a phone: as its table, but with a line for each limit.

    Examples
    --------
    >>> from flows.figures.margin import Load, Truck, margin
    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> m = margin(truck, Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True))
    >>> margin_lines(m, "Wren", "Harrow")[5]
    'Front axle: 1,547 lb left, 5,953 of 7,500 lb. Truck card.'
    """
    said = figure_texts()["page"]
    sources = [one.source for one in m.limits] + [one.source for one in m.lengths]
    limits = (_limit_line(one, source, said)
              for one, source in zip(bar_rows(m), sources, strict=True))  # fmt: skip
    head = [title(m, truck, vehicle), summary(m), position_words(m), _inputs(m, said)]
    return [*head, "", *limits, "", *_notes(m, said)]


def _limit_line(one: Bar, source: str, said: Mapping[str, Any]) -> str:
    text = said["limit_left" if one.margin >= 0 else "limit_over"]
    named = source[:1].upper() + source[1:]
    return str(text.format(name=one.name, margin=abs(one.margin), unit=one.unit, load=one.load,
                           limit=one.limit, source=named))  # fmt: skip


def working_page(m: Margin) -> list[str]:
    """Return the working of every limit, step by step, each with its source.

    Examples
    --------
    >>> from flows.figures.margin import Load, Truck, margin
    >>> truck = Truck(5500, 8900, 19500, 7500, 13500, 199, 88, 234)
    >>> m = margin(truck, Load(5000, 5000, 500, 500, 500, 114, 36, 38, nose_first=True))
    >>> print(working_page(m)[4])
      The vehicle puts on the front axle 452.3 lb: 5,000 x (1 - 181/199). \
[statics, moments about the axles]
    """
    said = figure_texts()["page"]
    lines = [said["working"]]
    for one in working(m):
        lines.append(shown_name(one.name))
        lines += [f"  {_step(step, said['steps'])}" for step in one.steps]
    return lines


def shown(value: Fraction) -> str:
    """Return a number to a tenth, with commas between thousands.

    Examples
    --------
    >>> shown(Fraction(134477, 10)), shown(Fraction(5000)), shown(Fraction(-1, 3))
    ('13,447.7', '5,000', '-0.3')
    """
    return f"{round(float(value), 1) + 0.0:,.1f}".removesuffix(".0")


def _step(step: Step, said: Mapping[str, str]) -> str:
    values = {name: shown(value) for name, value in step.put_in}
    key = step.formula
    if key == "used":
        key = "used_lb" if "load_lb" in values else "used_in"
    if key in _SUMS:
        values = {"sum": " + ".join(values.values())}
    if key in ("front_own", "rear_own"):
        values |= {"pieces": _pieces(step, said[f"piece_{key.removesuffix('_own')}"])}
    text = said[key].format(result=shown(step.result), **values)
    return said["source"].format(step=text, source=step.source)


def _pieces(step: Step, said: str) -> str:
    put_in = dict(step.put_in)
    count = sum(name.endswith("_lb") and name.startswith("piece_") for name in put_in)
    return "".join(
        said.format(
            weight=shown(put_in[f"piece_{n}_lb"]),
            at=shown(put_in[f"piece_{n}_in"]),
            wheelbase=shown(put_in["wheelbase_in"]),
        )
        for n in range(1, count + 1)
    )


def _inputs(m: Margin, said: Mapping[str, Any]) -> str:
    load = m.load
    way = "nose_toward" if load.nose_first else "nose_away"
    low, high = (shown(Fraction(pm, 10)) for pm in (load.share_low_pm, load.share_high_pm))
    text: str = said["inputs"].format(
        likely=load.likely_lb, high=load.high_lb, low_pct=low, high_pct=high, nose=said[way]
    )
    return text


def _table(m: Margin, heads: list[str]) -> Iterator[str]:
    """Put the limits in a table: words aligned left, numbers right."""
    sources = [one.source for one in m.limits] + [one.source for one in m.lengths]
    rows = [heads, *map(_row, bar_rows(m), sources)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(heads))]
    for row in rows:
        cells = [
            cell.rjust(wide) if column in (1, 2, 3) else cell.ljust(wide)
            for column, (cell, wide) in enumerate(zip(row, widths, strict=True))
        ]
        yield "  ".join(cells).rstrip()


def _row(one: Bar, source: str) -> list[str]:
    load = f"{one.load:,}" if one.least == one.load else f"{one.least:,} - {one.load:,}"
    return [one.name, load, f"{one.limit:,} {one.unit}", f"{one.margin:,}", source]


def _notes(m: Margin, said: Mapping[str, Any]) -> Iterator[str]:
    yield said["close_at"].format(pct=m.close_at_pct)
    if m.unchecked:
        names = ", ".join(shown_name(one).lower() for one in m.unchecked)
        yield said["unchecked"].format(names=names)
    if m.exempt is not None:
        yield said["exempt"].format(law=m.exempt)
    if m.remedies:
        yield said["remedies"].format(
            names=", ".join(said["remedies_named"][o] for o in m.remedies)
        )
    if m.less is not None and m.less.less_lb is not None:
        axle = shown_name(m.less.axle).lower()
        yield said["less"].format(weight=m.less.less_lb, axle=axle)
    part = shown(Fraction(table_over(m.truck, m.legal), 10))
    yield said["table_over"].format(pct=part)
    yield said["figure_source"].format(source=m.source)


def vin_page(found: Vin) -> list[str]:
    """Return a vehicle number as lines: the number, its year, warnings, candidates.

    Examples
    --------
    >>> from flows.figures.vin import examine
    >>> for line in vin_page(examine("0RLLPRF83K0000017", is_light=True)):
    ...     print(line)
    0RLLPRF83K0000017
    Model year 2019.
    The check digit is right.
    """
    said = figure_texts()["vin"]
    lines = [said["read"].format(text=found.text), _years(found, said)]
    lines += [_problem(found, one, said["problems"]) for one in found.problems]
    if not found.problems:
        lines.append(said["right"])
    if found.candidates:
        lines.append(said["candidates"].format(texts=", ".join(found.candidates)))
    return lines


def _years(found: Vin, said: Mapping[str, Any]) -> str:
    key = ("no_year", "years", "years_heavy")[len(found.years)]
    text: str = said[key].format(years=" / ".join(map(str, found.years)))
    return text


def _problem(found: Vin, problem: Problem, said: Mapping[str, str]) -> str:
    text = found.text
    if problem == "check_digit":
        key = problem if found.is_north_american else "check_digit_abroad"
        return said[key].format(found=text[CHECK_POSITION - 1], wanted=check_digit(text))
    marks = ", ".join(filter(str.isprintable, dict.fromkeys(_marks(text, problem))))
    return said[problem].format(count=len(text), marks=marks)


def _marks(text: str, problem: Problem) -> list[str]:
    """Return the characters of a number that a problem is about."""
    if problem == "letter":
        return [one for one in text if one in NEVER_USED]
    if problem == "character":
        return [one for one in text if one not in VALUES and one not in NEVER_USED]
    return [text[YEAR_POSITION - 1 : YEAR_POSITION]] if problem == "year_code" else []
