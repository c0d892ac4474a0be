"""How fast it is: `python -m tests.bench.bench`. Not a test: nothing here fails.

Each time stands beside a baseline of the same run, the two taken in turn, and what is shown is
the median of the pairs: a busy machine slows both.
"""

import gc
import json
import os
import re
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from statistics import median
from time import perf_counter_ns
from typing import Any

from bot.commands.bootstrap import book_for
from bot.desk.replaying import rebuilt
from bot.machine.settings import Settings
from bot.record.private import seeded_salt
from bot.record.rows import Batch, NewEntry
from bot.record.schema import Connect, connect
from bot.record.store import Store, open_store
from flows.job.folding import fold
from flows.job.state import Envelope, Job
from flows.turn.advance import advance
from tests.bench import carry, figures
from tests.bench.recorded import Recorded, Statement, record, watched_connection
from tests.bot.scripted import quick

CONVERSATION = "plain_carry"
PAIRS = 15
JOB_ENTRIES = 10_000
LOADS = 10_000
SALT = seeded_salt("1")
NEW_JOB = b'{"chat":"driver:sam","id":"1","at":"2026-11-25T10:00:00Z","text":"new job"}\n'
NOT_FOR_A_FIRST_REPLY = ("pint", "numpy", "prompt_toolkit", "sqlite_utils.cli", "asyncio")
# sqlite-utils imports numpy where there is one; an installed rollproof has none.
LINES = (
    "import sys; sys.modules['numpy'] = None; from bot.commands.cli import main; sys.exit(main())"
)

Work = Callable[[], object]


@dataclass(frozen=True)
class Pair:
    """Two times of one run, and what they are of [ns]."""

    name: str
    per: str
    mine: tuple[int, ...]
    base_name: str
    base: tuple[int, ...]
    per_run: int = 1

    def row(self) -> str:
        mine, base = (median(times) / self.per_run / 1e6 for times in (self.mine, self.base))
        share = median(b / m for m, b in zip(self.mine, self.base, strict=True))
        return (
            f"{self.name:<34} {mine:>10.3f} ms{self.per:<9} "
            f"{base:>10.3f} ms  {share:>7.4f}  {self.base_name}"
        )


def timed(work: Work) -> int:
    """Return how long something takes once [ns]."""
    start = perf_counter_ns()
    work()
    return perf_counter_ns() - start


def paired(one: Work, other: Work, pairs: int = PAIRS) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Time two things in turn, after each ran once unseen; which is first changes."""
    one(), other()
    times: list[tuple[int, int]] = []
    gc.disable()
    for number in range(pairs):
        if number % 2:
            second = timed(other)
            times.append((timed(one), second))
        else:
            first = timed(one)
            times.append((first, timed(other)))
        gc.collect()
    gc.enable()
    return tuple(a for a, _ in times), tuple(b for _, b in times)


# advance against the fold of what it returns


def advancing(found: Recorded) -> Pair:
    def fresh() -> Iterator[Job]:
        # As the turn before left it: which item is next is known, and nothing else worked out.
        return (job.with_() for job, _, _ in found.turns)

    def advanced() -> None:
        for job, (_, event, _) in zip(fresh(), found.turns, strict=True):
            advance(job, event)

    def folded() -> None:
        for job, (_, event, turn) in zip(fresh(), found.turns, strict=True):
            for entry, by in turn.entries:
                job = fold(job, entry, Envelope(event.at, by, job.seq))  # noqa: PLW2901  it is one

    mine, base = paired(advanced, folded)
    return Pair("advance", "/event", mine, "fold of its entries", base, len(found.turns))


# The desk's transaction against the same statements


def statements(found: Recorded) -> list[list[Statement]]:
    """Return what each step writes."""
    written: list[list[Statement]] = []
    with _store(watched_connection) as store:
        conn: Any = store._db.conn
        for step in found.steps:
            conn.written.clear()
            _step(store, step)
            written.append(list(conn.written))
    return written


def committing(found: Recorded, name: str, connection: Connect) -> Pair:
    written = statements(found)
    times: list[tuple[int, int]] = []
    for _ in range(PAIRS):
        with _store(connection) as store, _store(connection) as plain:
            times.append(_committed(found, written, store, plain))
    mine, base = zip(*times, strict=True)
    return Pair(name, "/message", mine, "the same statements", base, len(found.batches))


def _committed(
    found: Recorded, written: list[list[Statement]], store: Store, plain: Store
) -> tuple[int, int]:
    mine = base = 0
    for number, (step, same) in enumerate(zip(found.steps, written, strict=True)):
        one, other = _stepping(store, step), _writing(plain, same)
        if not isinstance(step, Batch):
            one(), other()
        elif number % 2:
            mine, base = mine + timed(one), base + timed(other)
        else:
            base, mine = base + timed(other), mine + timed(one)
    return mine, base


def _stepping(store: Store, step: tuple[Any, ...] | Batch) -> Work:
    return lambda: _step(store, step)


def _writing(store: Store, written: list[Statement]) -> Work:
    return lambda: _write(store, written)


def _step(store: Store, step: tuple[Any, ...] | Batch) -> None:
    if isinstance(step, Batch):
        store.commit(step)
    else:
        store.receive(*step)


def _write(store: Store, written: list[Statement]) -> None:
    db = store._db
    with db.atomic():
        for one in written:
            if one.many:
                db.conn.executemany(one.sql, one.values)
            else:
                # A statement that returns a row counts only when the row was fetched.
                db.execute(one.sql, one.values).fetchall()


@contextmanager
def _store(connection: Connect) -> Iterator[Store]:
    with (
        tempfile.TemporaryDirectory() as folder,
        open_store(Path(folder), salt=SALT, connect=connection) as store,
    ):
        yield store


# A whole carry, against what its store does of it


def carrying(found: Recorded) -> Pair:
    def stored() -> None:
        with _store(connect) as store:
            for step in found.steps:
                _step(store, step)

    mine, base = paired(lambda: carry.played(CONVERSATION), stored, 5)
    name = "a whole plain carry, each turn"
    return Pair(name, "/turn", mine, "its transactions alone", base, carry.turns(CONVERSATION))


# A long job rebuilt against its lines parsed


def rebuilding(found: Recorded) -> Pair:
    entries = _long_job(found)
    with _store(quick) as store:
        store.commit(Batch(found.batches[0].moment, "UTC", entries=entries))
        lines = store.lines(1)
        book = book_for(Settings(Path()))

        def again() -> None:
            rebuilt(Job(1, book), store.entries(1))

        def parsed() -> None:
            for line in lines:
                json.loads(line)

        mine, base = paired(again, parsed, 5)
    return Pair(f"rebuild {len(lines)} entries", "/job", mine, "json.loads of its lines", base)


def _long_job(found: Recorded) -> tuple[NewEntry, ...]:
    """Return one long job: the conversation's own entries, over and over, but for its end."""
    own = [new for batch in found.batches for new in batch.entries if new.job == 1]
    first, *rest = [new for new in own if new.kind not in {"closed", "handed_off"}]
    again = (rest[number % len(rest)] for number in range(JOB_ENTRIES - 1))
    return (replace(first, seq=None), *(replace(new, seq=None) for new in again))


# The figures


def answering() -> Pair:
    mine, base = paired(figures.full_answer, figures.bare_margin)
    return Pair("one full answer", "", mine, "its margin alone", base)


def deciding(verdict: str) -> Pair:
    """The margin from cards and facts; one that is no go names what would help as well."""
    work = figures.decided_from_cards(verdict)
    count = work()
    mine, base = paired(work, lambda: [figures.exact_sums() for _ in range(count)])
    name = f"margin from cards, {verdict}"
    return Pair(name, " each", mine, "1,000 exact fractions", base, per_run=count)


def judging() -> Pair:
    """The figure decides each load exactly; numpy all of them at once in floats."""
    cases = figures.plain_cases(LOADS)
    table = figures.columns(cases)
    same = sum(
        one == other
        for one, other in zip(
            figures.exact_verdicts(cases), figures.float_verdicts(table), strict=True
        )
    )
    mine, base = paired(
        lambda: figures.exact_verdicts(cases), lambda: figures.float_verdicts(table), 5
    )
    return Pair(f"{LOADS} loads, {same} alike", "", mine, "plain floats in numpy", base)


# The first reply, the process included


def first_reply() -> Pair:
    mine, base = paired(_first_reply, lambda: _python("-c", "pass"))
    return Pair("first reply", "/process", mine, "python -c pass", base)


def _first_reply(*options: str) -> str:
    with tempfile.TemporaryDirectory() as folder:
        return _python(*options, "-c", LINES, "lines", "--data", folder)


def _python(*words: str) -> str:
    """Run Python to its end; return what it wrote to its errors."""
    done = subprocess.run(
        [sys.executable, *words], input=NEW_JOB, capture_output=True, check=True, env=_quiet()
    )
    return done.stderr.decode()


def _quiet() -> dict[str, str]:
    return {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}


_IMPORT = re.compile(r"import time:\s+(\d+) \|\s+(\d+) \|\s+(\S+)")


def loaded() -> dict[str, int]:
    """Return every module loaded up to the first reply, with its own time [us]."""
    found = _IMPORT.findall(_first_reply("-X", "importtime"))
    return {name: int(own) for own, _, name in found}


def import_rows(modules: dict[str, int]) -> Iterator[str]:
    """Yield the five heaviest packages, and what is loaded before it is needed."""
    packages: dict[str, int] = {}
    for name, own in modules.items():
        package = name.partition(".")[0]
        packages[package] = packages.get(package, 0) + own
    heaviest = sorted(packages.items(), key=lambda one: -one[1])[:5]
    total = sum(packages.values())
    yield f"imports up to the first reply: {len(modules)} modules, {total / 1000:.0f} ms; of these"
    yield from (f"    {name:<24} {own / 1000:>6.1f} ms" for name, own in heaviest)
    early = [one for one in NOT_FOR_A_FIRST_REPLY if one in modules]
    yield f"loaded before it is needed: {', '.join(early) or 'none'}"


def main() -> None:
    """Measure everything and write a small table."""
    found = record(CONVERSATION)
    out = sys.stdout
    out.write(
        f"Python {sys.version.split()[0]}, SQLite {sqlite3.sqlite_version}; {CONVERSATION}: "
        f"{len(found.turns)} events, {len(found.batches)} transactions\n"
        f"{'':<34} {'median':>13}{'':<9} {'baseline':>13}  {'share':>7}\n"
    )
    measures: tuple[Callable[[], Pair], ...] = (
        lambda: advancing(found),
        lambda: committing(found, "transaction", connect),
        lambda: committing(found, "transaction, no wait for the disk", quick),
        lambda: carrying(found),
        lambda: rebuilding(found),
        answering,
        lambda: deciding("go"),
        lambda: deciding("close"),
        lambda: deciding("no-go"),
        judging,
        first_reply,
    )
    for measure in measures:
        out.write(f"{measure().row()}\n")
        out.flush()
    out.write("share: baseline by median of the pairs; 1.00 is as fast as the baseline\n\n")
    out.writelines(f"{row}\n" for row in carry.rows(CONVERSATION))
    out.writelines(f"{row}\n" for row in import_rows(loaded()))


if __name__ == "__main__":
    main()
