"""The sheet as a page to print: one HTML file that needs nothing else, in two columns."""

from collections.abc import Iterator

from flows.figures.drawings.svg import escaped
from flows.job.state import Job
from flows.texts import sentences
from flows.turn.sheet import Line, by_section, foot, head, lines

STYLE = """
@page { size: letter; margin: 11mm }
body { font: 8.6pt/1.28 Helvetica, Arial, 'DejaVu Sans', sans-serif; color: #000; margin: 0 }
header { border-bottom: 1.5pt solid #000; padding-bottom: 2mm; margin-bottom: 2mm }
h1 { font-size: 13pt; margin: 0 0 1mm }
header p { margin: 0 }
main { columns: 2; column-gap: 7mm }
h2 { font-size: 9.5pt; margin: 2mm 0 .6mm; border-bottom: .5pt solid #000; break-after: avoid }
ul { list-style: none; margin: 0; padding: 0 }
li { margin: .5mm 0; padding-left: 5mm; text-indent: -5mm; break-inside: avoid }
li::before { content: ''; display: inline-block; width: 2.6mm; height: 2.6mm;
  border: .6pt solid #000; margin-right: 2mm; vertical-align: -.3mm }
li.critical::before { border-width: 1.6pt }
li.when { font-style: italic; padding-left: 0; text-indent: 0; break-after: avoid }
li.when::before { display: none }
.time { white-space: nowrap; font-weight: bold }
footer { border-top: 1.5pt solid #000; margin-top: 2mm; padding-top: 1mm }
footer p { margin: 0 0 .4mm }
"""
INDENT_MM = 4


def page(job: Job) -> str:
    """Return the sheet as an HTML document; the same job gives the same bytes."""
    title, *rest = head(job)
    mark = sentences()["sheet"]["mark_page"]
    return "\n".join(
        (
            '<!doctype html><html lang="en"><meta charset="utf-8">',
            f"<title>{escaped(title)}</title>",
            f"<style>{STYLE}</style>",
            f"<header><h1>{escaped(title)}</h1>{''.join(map(_paragraph, rest))}</header>",
            f"<main>{''.join(_body(lines(job)))}</main>",
            f"<footer>{''.join(map(_paragraph, (mark, *foot())))}</footer></html>",
        )
    )


def _paragraph(text: str) -> str:
    return f"<p>{escaped(text)}</p>"


def _body(found: list[Line]) -> Iterator[str]:
    for section, of_it in by_section(found):
        yield f"<h2>{escaped(section)}</h2><ul>{''.join(map(_item, of_it))}</ul>"


def _item(line: Line) -> str:
    said = sentences()["sheet"]
    style = f' style="margin-left:{line.depth * INDENT_MM}mm"' if line.depth else ""
    when = said["when"].format(answer=escaped(line.when))
    before = f'<li class="when"{style}>{when}</li>' if line.when else ""
    kind = ' class="critical"' if line.is_critical else ""
    time = f'<span class="time">{escaped(said["time"])}</span>' if line.is_timed else ""
    return f"{before}<li{kind}{style}>{escaped(line.text)}{time}</li>"
