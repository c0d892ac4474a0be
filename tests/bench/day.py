"""A day of a large company: `python -m tests.bench.day`. Not a test: nothing here fails.

Three hundred trucks, ten whole carries each, all on their way at once, each message as its driver
would send it, one desk on one disk. What grows with the record shows in the last jobs beside the
first.
"""

import argparse
import heapq
import random
import shutil
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from statistics import median, quantiles
from time import perf_counter_ns

from bot.commands.bootstrap import book_for, open_desk, scripted
from bot.commands.demo import START_MS, conversation, parse
from bot.desk.inbound import Inbound
from bot.machine.settings import Settings
from bot.voice.memory import peak_mib
from flows.job.events import SECOND_NS, Moment

TRUCKS, JOBS_EACH = 300, 10
CONVERSATION = "plain_carry"
LEAST_S, MOST_S = 20, 90
"""How long a driver takes for a turn [s]."""
TOLD_EVERY = 5_000
PHOTOLESS = "too dark"
DISPATCHER = "dispatcher:ann"
DEMO = Path(__file__).parents[2] / "demo_data"
LIKE = "heron"
FIRST = ("amber", "birch", "cedar", "dapple", "ember", "fallow", "garnet", "hazel", "indigo",
         "juniper", "kestrel", "lilac", "maple", "nutmeg", "ochre", "poplar", "quartz", "russet",
         "saffron", "thistle")  # fmt: skip
SECOND = ("bittern", "crane", "dunlin", "egret", "finch", "grebe", "heron", "ibis", "jackdaw",
          "kite", "linnet", "merlin", "nightjar", "osprey", "plover")  # fmt: skip


def name_of(truck: int) -> str:
    """Return what a truck is called."""
    return f"{FIRST[truck // len(SECOND) % len(FIRST)]} {SECOND[truck % len(SECOND)]}"


def cards(folder: Path, trucks: int) -> Path:
    """Write the demo company's cards, with as many carriers like its medium one."""
    shelf = Path(shutil.copytree(DEMO, folder / "cards"))
    one = (shelf / "trucks" / f"{LIKE}.toml").read_text("utf-8")
    for truck in range(trucks):
        name = name_of(truck)
        text = one.replace(f'id = "{LIKE}"', f'id = "{name.replace(" ", "_")}"')
        text = text.replace(f'name = "{LIKE.title()}"', f'name = "{name.title()}"')
        (shelf / "trucks" / f"{name.replace(' ', '_')}.toml").write_text(text, "utf-8")
    return shelf


def said(truck: int) -> Iterator[str]:
    """Yield what the driver of a truck says in a carry, photos left out for a reason."""
    for step in parse(conversation(CONVERSATION)):
        if step.kind == "+":
            yield PHOTOLESS
        elif step.kind == ">" and step.chat != DISPATCHER and not step.text.startswith("job "):
            yield step.text
        elif step.kind == ">" and step.chat == DISPATCHER:
            yield step.text.replace(LIKE.title(), name_of(truck))


class Day:
    """One day: its desk, its clock, and how long each message took [ns]."""

    def __init__(self, folder: Path, trucks: int) -> None:
        settings = Settings(folder / "data", cards(folder, trucks))
        book = book_for(settings)
        self.at = Moment(START_MS, 3_600 * SECOND_NS, "boot-1")
        self.desk, self.store = open_desk(settings, book, "lines", secrets=scripted("1"))
        self.times: list[int] = []

    def say(self, chat: str, text: str, after_ns: int) -> None:
        """Say one thing, and let time pass up to it first."""
        ahead = max(0, after_ns - self.at.mono_ns)
        self.at = replace(
            self.at, mono_ns=self.at.mono_ns + ahead, wall_ms=self.at.wall_ms + ahead // 1_000_000
        )
        message = Inbound(chat, str(len(self.times)), stamped_ms=self.at.wall_ms, text=text)
        start = perf_counter_ns()
        self.desk.take(message, self.at, wind=True)
        self.times.append(perf_counter_ns() - start)


def played(day: Day, trucks: int, jobs: int) -> None:
    """Let every driver work through the day; whoever's turn comes first speaks first."""
    chance = random.Random(1)  # noqa: S311  no secret
    lines = [[one for _ in range(jobs) for one in said(truck)] for truck in range(trucks)]
    due = [(day.at.mono_ns + chance.randrange(3600) * SECOND_NS, n, 0) for n in range(trucks)]
    heapq.heapify(due)
    while due:
        at, truck, place = heapq.heappop(due)
        day.say(f"driver:d{truck}", lines[truck][place], at)
        if place + 1 < len(lines[truck]):
            later = at + chance.randint(LEAST_S, MOST_S) * SECOND_NS
            heapq.heappush(due, (later, truck, place + 1))
        if len(day.times) % TOLD_EVERY == 0:
            sys.stderr.write(f"{len(day.times)} messages\n")


def rows(day: Day, trucks: int, jobs: int) -> Iterator[str]:
    """Yield what is shown."""
    times = [one / 1e6 for one in day.times]
    tenth = len(times) // 10
    first, last = times[:tenth], times[-tenth:]
    ended = sum(state == "closed" for state in day.store.jobs().values())
    size = sum(path.stat().st_size for path in day.store.folder.rglob("*") if path.is_file())
    yield f"{trucks} trucks, {trucks * jobs} jobs, {ended} closed, {len(times)} messages"
    yield f"record {size / 2**20:.0f} MiB, {size / (trucks * jobs) / 1024:.0f} KiB a job"
    yield f"peak memory {peak_mib()} MiB"
    yield f"a message: median {median(times):.2f} ms, slowest {max(times):.0f} ms"
    yield f"99 of 100 within {quantiles(times, n=100)[98]:.2f} ms"
    yield f"first tenth {median(first):.2f} ms, last tenth {median(last):.2f} ms: " \
          f"{median(last) / median(first):.2f} times"  # fmt: skip


def main() -> None:
    """Play the day and write what it took."""
    parser = argparse.ArgumentParser(description="A day of a large company.")
    parser.add_argument("--trucks", type=int, default=TRUCKS)
    parser.add_argument("--jobs", type=int, default=JOBS_EACH, help="of each truck")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        day = Day(Path(folder), given.trucks)
        played(day, given.trucks, given.jobs)
        sys.stdout.writelines(f"{row}\n" for row in rows(day, given.trucks, given.jobs))
        day.store.close()


if __name__ == "__main__":
    main()
