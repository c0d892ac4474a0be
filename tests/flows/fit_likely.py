"""The weights of the second tier, fitted to sentences that the first did not understand.

    python -m tests.flows.fit_likely          print weights and what they give
    python -m tests.flows.fit_likely --write  and write them to flows/texts/likely.toml

Logistic regression with an L2 penalty by Newton's method, over every pair of a sentence and a
thing that its open question expects. The sentences are in `data/heard.csv`: each was written for
one question, with its meaning, before the word lists were seen; those marked "check" are not
fitted to.
"""

import csv
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from flows.hearing.answers import Answer, answer_for
from flows.hearing.lexicon import lexicon_of
from flows.hearing.likely import featured, likely
from flows.hearing.understand import understand
from flows.job.intents import Give, Intent, Nothing, Settled
from flows.job.state import Job
from flows.routine.book import Book
from flows.routine.carry import CARRY
from flows.texts import likely_weights
from tests.flows.talker import demo_library

DATA = Path(__file__).parent / "data" / "heard.csv"
WEIGHTS = Path(__file__).parents[2] / "flows" / "texts" / "likely.toml"
PENALTY = 1.0
JOB = Job(1, Book(CARRY, demo_library()))


@dataclass(frozen=True)
class Row:
    """A sentence at its question, with what it means there: None for nothing to be taken."""

    text: str
    answer: Answer
    meant: Intent | None
    is_check: bool


@cache
def rows() -> tuple[Row, ...]:
    """Return the sentences that reading makes nothing of."""
    with DATA.open(encoding="utf-8", newline="") as file:
        return tuple(_rows(csv.DictReader(file)))


def _rows(lines: Iterator[dict[str, str]]) -> Iterator[Row]:
    for line in lines:
        answer = answer_for(JOB, CARRY.items[line["item"]])
        found = understand(line["text"], answer, lexicon_of(demo_library()))
        if found == (Nothing("unclear"),):
            meant = _meant(line["meaning"], answer)
            yield Row(line["text"], answer, meant, line["set"] == "check")


def _meant(meaning: str, answer: Answer) -> Intent | None:
    if meaning.startswith("="):
        return Give(answer.fact, meaning[1:])
    return Settled(answer.item) if meaning == "done" else None


def fitted(found: tuple[Row, ...]) -> dict[str, float]:
    """Return the weight of each feature, and the bias."""
    names = list(likely_weights()["weights"])
    pairs = [
        ([1.0 if name == "bias" else features[name] for name in names], intent == row.meant)
        for row in found
        for intent, features in featured(row.text, row.answer)
    ]
    x = np.array([one for one, _ in pairs])
    y = np.array([float(is_meant) for _, is_meant in pairs])
    w = np.zeros(len(names))
    penalty = PENALTY * np.array([0.0 if name == "bias" else 1.0 for name in names])
    for _ in range(50):
        p = 1 / (1 + np.exp(-x @ w))
        gradient = x.T @ (y - p) - penalty * w
        hessian = (x.T * (p * (1 - p))) @ x + np.diag(penalty + 1e-9)
        w += np.linalg.solve(hessian, gradient)
    return {name: round(float(one), 2) for name, one in zip(names, w, strict=True)}


def given(found: Iterator[Row]) -> Counter[str]:
    """Return how often what was meant is proposed, something else, or nothing."""
    count: Counter[str] = Counter()
    for row in found:
        proposed = likely(row.text, row.answer)
        kind = "to be taken" if row.meant is not None else "nothing meant"
        how = "nothing" if proposed is None else "right" if proposed == row.meant else "wrong"
        count[f"{kind}: {how}"] += 1
    return count


def main() -> None:
    """Fit, print, and write if asked to."""
    weights = fitted(tuple(one for one in rows() if not one.is_check))
    sys.stdout.write(f"{weights}\n")
    if "--write" in sys.argv:
        head = WEIGHTS.read_text("utf-8").partition("[weights]")[0]
        lines = "".join(f"{name} = {one}\n" for name, one in weights.items())
        WEIGHTS.write_text(f"{head}[weights]\n{lines}", "utf-8")
        likely_weights.cache_clear()
    for name, is_check in (("fitted to", False), ("check", True)):
        count = given(one for one in rows() if one.is_check is is_check)
        sys.stdout.write(f"{name}: {dict(count)}\n")
    for row in rows():
        proposed = likely(row.text, row.answer)
        if proposed not in (None, row.meant):
            sys.stdout.write(f"wrong: {row.text!r} at {row.answer.item}: {proposed}\n")


if __name__ == "__main__":
    main()
