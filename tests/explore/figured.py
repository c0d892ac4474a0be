"""A job with each word that the figures of a section may come to, whatever the cards are."""

from collections.abc import Iterator
from itertools import product

from flows.explore.moves import DRIVER
from flows.job.facts import FACTS, Fact
from flows.job.state import Conclusion, Job
from flows.routine.items import Figure, LiftPlan, PullPlan, Question, Section

WORDS = {"pull": ("fits", "weak", "far", "long"), "lift": ("go", "no-go")}
"""What a figure may come to. By which cards it does is no business of a section's."""


def figured(job: Job, section: Section) -> Iterator[Job]:
    """Yield a job with each word that a figure of the section can have, on its facts as known."""
    for item in section.items:
        if isinstance(item, PullPlan | LiftPlan):
            by = {"by": item.by} if isinstance(item, LiftPlan) else {}
            name = "lift" if by else "pull"
            for word, known in product(WORDS[name], _asked_before(job, section, item)):
                rests_on = tuple((one, known.fact_seq(one)) for one in item.rests_on)
                found = Conclusion(job.seq, rests_on, {"word": word, **by})
                yield known.with_(**{name: found})


def _asked_before(job: Job, section: Section, figure: Figure) -> Iterator[Job]:
    """Yield a job as it is, and with each answer that the section asks for under a figure."""
    yield job
    for item in section.items:
        if isinstance(item, Question) and item.fact in figure.rests_on:
            for value in sorted(FACTS[item.fact].values):
                fact = Fact(value, "typed", DRIVER.id, job.seq)
                yield job.with_(facts={**job.facts, item.fact: fact})
