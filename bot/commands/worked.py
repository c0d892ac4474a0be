"""The page of worked formulas, made from the figures' own words: formula, source, example.

Every example is run while the page is made; an example with a wrong result stops it.
"""

import base64
import doctest
import importlib
import inspect
import re
import textwrap
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import FunctionType, MappingProxyType, ModuleType
from typing import Final

from flows.errors import FlowError
from flows.figures.drawings.svg import escaped
from flows.texts import figure_texts

CHAPTERS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "weight": (), "known_weights": (), "classes": (), "class_over": (),
        "statics": (), "deck": (), "loads": (), "tyres": (), "legal": (), "limits": (),
        "margin": ("margin_drawing.draw",), "verdict": (), "remedies": (), "narrowing": (),
        "loading": ("loading_drawing.draw_loading",), "dollies": (),
        "lifting": ("lift_drawing.draw_lift",),
        "pull": (), "winch": (), "rigging": ("rigging_drawing.draw_rigging",),
        "window": ("rigging_drawing.draw_window",),
        "tiedowns": ("rigging_drawing.draw_tiedowns",),
        "securing": (), "volts": (), "warning": (), "vin": (), "result": (), "border": (),
        "crossing": (),
    }
)  # fmt: skip
"""Modules of `flows.figures` in the order of the page, with the drawings of their examples."""

_STYLE: Final = """
body { font: 16px/1.5 Helvetica, Arial, 'DejaVu Sans', sans-serif; color: #000; background: #fff;
  margin: 0 auto; padding: 1rem; max-width: 46rem }
h1 { font-size: 1.7rem; margin: .5rem 0 }
h2 { font-size: 1.35rem; border-bottom: 3px solid #000; margin: 2.5rem 0 .5rem }
h3 { font: bold 1.05rem/1.4 'DejaVu Sans Mono', monospace; margin: 2rem 0 .3rem;
  overflow-wrap: anywhere }
h2, h3, h4 { break-after: avoid }
h4 { font-size: .95rem; margin: .8rem 0 .1rem }
p, dl, ul { margin: .3rem 0 }
code { font: .92em 'DejaVu Sans Mono', monospace; background: #eee;
  padding: .1em .25em }
pre { border-left: 6px solid #000; margin: .4rem 0; padding: .3rem .8rem; white-space: pre-wrap;
  overflow-wrap: anywhere; font: .88rem/1.45 'DejaVu Sans Mono', monospace }
dt { font-weight: bold } dd { margin: 0 0 .2rem 1.2rem }
img { max-width: 26rem; width: 100%; border: 1px solid #000 }
nav ul { columns: 2; padding-left: 1.2rem }
a { color: #000 }
section { break-inside: avoid }
"""
_HEAD: Final = re.compile(r"^(\w+)\n-{3,}$", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Worked:
    """A formula: its name, its call, and its docstring."""

    name: str
    call: str
    words: str


def write_worked(file: Path) -> str:
    """Write the page of worked formulas; return a sentence about it.

    Raises
    ------
    FlowError
        If an example has a wrong result, or the file cannot be written.
    """
    said = figure_texts()
    page, count = worked_page(), sum(len(formulas(name)) for name in CHAPTERS)
    try:
        file.write_text(page, "utf-8")
    except OSError as error:
        raise FlowError(
            said["given"]["worked_unwritten"].format(file=file, reason=error.strerror)
        ) from error
    return str(said["worked"]["written"].format(count=count, file=file))


def worked_page() -> str:
    """Return every formula with its worked example, as one self-contained HTML document.

    Raises
    ------
    FlowError
        If an example has a wrong result.
    """
    said = figure_texts()["worked"]
    links = "".join(
        f'<li><a href="#{name}">{escaped(_short(_module(name)))}</a></li>' for name in CHAPTERS
    )
    return "\n".join(
        (
            '<!doctype html><html lang="en"><head><meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{escaped(said['title'])}</title><style>{_STYLE}</style></head><body>",
            f"<h1>{escaped(said['title'])}</h1><p>{escaped(said['lead'])}</p>",
            f"<p><strong>{escaped(said['caution'])}</strong></p>",
            f"<nav><h2>{escaped(said['contents'])}</h2><ul>{links}</ul></nav>",
            *(part for name, drawings in CHAPTERS.items() for part in _chapter(name, drawings)),
            "</body></html>\n",
        )
    )


def formulas(chapter: str) -> list[Worked]:
    """Return the formulas in a module of the figures that have a worked example, in order.

    Examples
    --------
    >>> [one.name for one in formulas("statics")]
    ['statics.split', 'statics.lift_capacity', 'statics.reactions']
    """
    found = [one for one in _publics(_module(chapter)) if ">>>" in one[1].words]
    return [one for _, one in sorted(found, key=lambda pair: pair[0])]


def _module(name: str) -> ModuleType:
    return importlib.import_module(f"flows.figures.{name}")


def _title(module: ModuleType) -> str:
    return (inspect.getdoc(module) or "").splitlines()[0].rstrip(".")


def _short(module: ModuleType) -> str:
    """Return a chapter's title up to its colon or comma."""
    return re.split("[:,]", _title(module))[0]


def _publics(module: ModuleType) -> Iterator[tuple[int, Worked]]:
    """Yield the public functions, methods and properties of a module, each with its line."""
    short = module.__name__.rpartition(".")[2]
    for name, member in _own(module):
        if inspect.isclass(member):
            yield from _methods(f"{short}.{name}", member)
        elif isinstance(member, FunctionType):
            yield _worked(f"{short}.{name}", member, is_property=False)


def _own(module: ModuleType) -> Iterator[tuple[str, object]]:
    """Yield the public members that a module defines itself, without their wrappers."""
    for name, member in vars(module).items():
        bare = inspect.unwrap(member) if callable(member) else member
        if not name.startswith("_") and getattr(bare, "__module__", "") == module.__name__:
            yield name, bare


def _methods(of: str, kind: type) -> Iterator[tuple[int, Worked]]:
    for name, member in vars(kind).items():
        code = member.fget if isinstance(member, property) else member
        if not name.startswith("_") and isinstance(code, FunctionType):
            yield _worked(f"{of}.{name}", code, is_property=code is not member)


def _worked(name: str, code: FunctionType, *, is_property: bool) -> tuple[int, Worked]:
    names = [] if is_property else list(inspect.signature(code).parameters)
    call = name if is_property else f"{name}({', '.join(one for one in names if one != 'self')})"
    line = inspect.getsourcelines(code)[1]
    return line, Worked(name, call, inspect.getdoc(code) or "")


# A chapter as HTML


def _chapter(name: str, drawings: Iterable[str]) -> Iterator[str]:
    module = _module(name)
    _, _, rest = (inspect.getdoc(module) or "").partition("\n")
    yield f'<h2 id="{name}">{escaped(_title(module))}</h2>'
    yield from _prose(rest)
    for one in formulas(name):
        _run(one, module)
        yield f'<section id="{one.name}"><h3>{escaped(one.call)}</h3>'
        yield from _sections(one.words)
        yield "</section>"
    for drawing in drawings:
        yield f"<h4>{escaped(figure_texts()['worked']['drawn'])}</h4>"
        yield _image(_drawn(drawing))


def _run(one: Worked, module: ModuleType) -> dict[str, object]:
    """Run an example and return the names it assigned."""
    names = dict(vars(module))
    test = doctest.DocTestParser().get_doctest(one.words, names, one.name, None, None)
    runner = doctest.DocTestRunner(verbose=False)
    runner.run(test, out=lambda _said: None, clear_globs=False)
    if runner.failures:
        raise FlowError(figure_texts()["given"]["worked_wrong"].format(name=one.name))
    return test.globs


def _drawn(drawing: str) -> str:
    """Run the example of a function that draws, and return its `drawn`."""
    module, _, name = drawing.partition(".")
    [one] = [found for found in formulas(f"drawings.{module}") if found.name.endswith(f".{name}")]
    return str(_run(one, _module(f"drawings.{module}"))["drawn"])


def _image(svg: str) -> str:
    """Return a drawing as part of the page, with its own description for screen readers."""
    said = {node.tag.rpartition("}")[2]: node.text or "" for node in ET.fromstring(svg)}  # noqa: S314  our own drawing
    words = escaped(f"{said['title']} {said['desc']}")
    data = base64.b64encode(svg.encode()).decode("ascii")
    return f'<img alt="{words}" src="data:image/svg+xml;base64,{data}">'


def _sections(words: str) -> Iterator[str]:
    """Yield a formula's docstring: the introduction, then each section."""
    headings = figure_texts()["worked"]["headings"]
    lead, *parts = _HEAD.split(words)
    yield from _prose(lead)
    for head, body in zip(parts[::2], parts[1::2], strict=True):
        yield f"<h4>{escaped(headings[head])}</h4>"
        lists = head in ("Parameters", "Attributes", "Returns", "Raises")
        yield from (_list if lists else _prose)(body)


def _list(body: str) -> Iterator[str]:
    """Yield names, each with the indented text below it."""
    yield "<dl>"
    for block in re.split(r"\n(?=\S)", body.strip("\n")):
        name, _, rest = block.partition("\n")
        yield f"<dt>{_inline(name)}</dt><dd>{_inline(textwrap.dedent(rest))}</dd>"
    yield "</dl>"


def _prose(body: str) -> Iterator[str]:
    """Yield paragraphs, and examples as typed and answered."""
    for block in re.split(r"\n\s*\n", body.strip()):
        if block.startswith(">>>"):
            yield f"<pre>{_lines(block)}</pre>"
        elif block:
            yield f"<p>{_inline(block)}</p>"


def _lines(text: str) -> str:
    """Return lines escaped for HTML."""
    return "\n".join(map(escaped, text.splitlines()))


def _inline(text: str) -> str:
    """Return a paragraph, with its code marked as code."""
    joined = escaped(" ".join(text.split()))
    return re.sub(r"``(.+?)``|`(.+?)`", lambda m: f"<code>{m[1] or m[2]}</code>", joined)
