"""Disturb jobs in every state, and twice in a sample, and print what was tried and what broke.

    python -m tests.explore --pairs 1000000 --minutes 60

Every straight state once with each kind of disturbance, then so many pairs, drawn; the same ones
for the same seed. It ends early after so many minutes of its own processor time.
"""

import argparse
import random
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from itertools import chain

from flows.job.state import Job
from tests.explore.disturbed import KINDS, Breach, Counts, in_every_state, pairs, starts_of
from tests.explore.explored import straight

SEED = 20261130
MOST_SHOWN = 3
"""So many traces of each breach are shown."""


def main() -> int:
    """Return 0 if nothing broke."""
    given = _arguments()
    graph = straight()
    starts = starts_of(graph)
    _tell(f"straight states {len(starts)}, breaches on straight ways {len(graph.breaches)}")
    counts, draw = Counts(), random.Random(given.seed).randrange  # noqa: S311  no secret
    order = random.Random(given.seed).sample(starts, len(starts))  # noqa: S311  no secret
    try:
        for breach in _until(given.minutes * 60, order, given.pairs, draw, counts):
            _show(breach, counts)
    except TimeoutError:
        _tell(f"ended after {given.minutes} minutes")
    _tell(report(counts))
    return 1 if counts.wrong or graph.breaches else 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.explore", description=__doc__)
    parser.add_argument("--pairs", type=int, default=100_000, help="how many jobs disturbed twice")
    parser.add_argument("--seed", type=int, default=SEED, help=f"default: {SEED}")
    parser.add_argument("--minutes", type=float, default=10.0, help="of processor time, at most")
    return parser.parse_args()


def _until(
    seconds: float, starts: Sequence[Job], number: int, draw: Callable[[int], int], counts: Counts
) -> Iterator[Breach]:
    """Yield breaches of a state at a time and of a pair for each, for so long at most.

    Raises
    ------
    TimeoutError
        Once the time is over.
    """
    began = time.process_time()
    each = -(-number // len(starts))
    for start in starts:
        counts.starts += 1
        yield from chain(in_every_state((start,), draw, counts), pairs(starts, each, draw, counts))
        if time.process_time() - began > seconds:
            raise TimeoutError


def _show(breach: Breach, counts: Counts) -> None:
    if counts.wrong[breach.why] <= MOST_SHOWN:
        item = breach.start.next_item
        _tell(f"from {item.id if item else 'nowhere'}: {breach.trace}\n")


def _tell(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def report(counts: Counts) -> str:
    """Return what was tried and what was wrong, in lines."""
    once = Counter({kinds: n for kinds, n in counts.kinds.items() if len(kinds) == 1})
    twice = Counter({kinds: n for kinds, n in counts.kinds.items() if len(kinds) == 2})
    lines = [
        f"states {counts.starts}, jobs {counts.jobs}, events {counts.transitions}",
        f"disturbed once {once.total()}, "
        f"twice {twice.total()}, pairs of kinds {len(twice)} of {len(KINDS) ** 2}",
        ", ".join(f"{kind} {n}" for kind, n in counts.events.most_common()),
        f"breaches {counts.wrong.total()}",
        *(f"{n:6} {why}" for why, n in counts.wrong.most_common()),
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
