"""The laws of reading: nothing but done, certain, whole and ours is ever an act.

The sentences are made of the lexicon, so what each says is known from how it was made; the whole
of them is read by `python -m tests.flows.laws`. The mutants take a law out of the reading, and
the same sentences have to notice.
"""

import random
from collections import Counter

import pytest

from flows.hearing import clauses, framed, meanings, understand
from flows.job.acts import ACTS
from flows.job.facts import FACTS
from flows.routine.carry import CARRY
from flows.texts import lexicon_words, meanings as declared, phrases, sentences as sentences_of
from tests.flows.laws import OF_DECIDING, SPOILERS, Sentence, breach, read, sentences, takes

SAMPLE = 2000
HEARD_PCT = 94
"""Of sentences that say plainly what was asked for, so many are taken at once."""
LIST = list(sentences(random.Random(7), SAMPLE))  # noqa: S311  a seed
SOME = LIST[:700]


def broken(listed: list[Sentence]) -> list[Sentence]:
    return [one for one in listed if breach(one) and not _of_a_plain_fact(one)]


def _of_a_plain_fact(one: Sentence) -> bool:
    """Say whether it is a value on which nothing rests, which is easily said again."""
    return takes(one, read(one)) != "done" and one.spoiled not in OF_DECIDING


def test_every_kind_of_sentence_is_among_them() -> None:
    kinds = Counter(one.spoiled for one in LIST)
    assert set(kinds) == {"", "other", *SPOILERS}
    assert min(kinds.values()) > SAMPLE / 30
    assert len({one.item for one in LIST}) > 80
    assert any(one.slip for one in LIST)


def test_what_is_not_done_not_sure_not_all_or_not_ours_is_no_act() -> None:
    acts = [one for one in LIST if breach(one) and takes(one, read(one)) == "done"]
    assert [(one.text, one.item, one.spoiled) for one in acts] == []


def test_a_fact_that_is_denied_or_asked_is_hardly_ever_taken() -> None:
    facts = [one for one in LIST if breach(one)]
    assert len(facts) <= SAMPLE / 250, [(one.text, one.item, one.spoiled) for one in facts]


def test_what_is_said_plainly_is_heard() -> None:
    plain = [one for one in LIST if not one.spoiled]
    heard = [one for one in plain if takes(one, read(one)) == one.meant]
    assert 100 * len(heard) >= HEARD_PCT * len(plain)


def forget() -> None:
    """Empty what was read, so that a changed law counts."""
    for cached in (understand.understand, framed._clause, framed._asked, clauses.segments,
                   clauses._mended):  # fmt: skip
        cached.cache_clear()


MUTANTS = {
    "a word that nothing explains is dropped": (meanings, "says", lambda *_, **__: True),
    "no clause puts another in doubt": (understand, "in_doubt", lambda *_: False),
}


@pytest.mark.parametrize("name", MUTANTS)
def test_a_law_taken_out_is_noticed(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    module, law, instead = MUTANTS[name]
    before = len(broken(SOME))
    forget()
    for place in {module, framed, understand}:
        if hasattr(place, law):
            monkeypatch.setattr(place, law, instead)
    try:
        assert len(broken(SOME)) > before
    finally:
        monkeypatch.undo()
        forget()


def test_a_meaning_names_what_the_lexicon_has_and_the_lexicon_only_what_is_meant() -> None:
    table = lexicon_words()
    parts, states = set(table["parts"]), set(table["states"])
    named: set[str] = set()
    for section, key, one in meanings.everything():
        assert parts.issuperset(one.parts), (section, key)
        assert states.issuperset(one.states), (section, key)
        assert (parts | states).issuperset(one.beside), (section, key)
        named.update(one.parts, one.states, one.beside)
    assert (parts | states) - named == {"nobody", "other_thing", "went_up"}


def test_every_meaning_is_of_an_act_a_value_an_item_or_an_option() -> None:
    table = declared()
    known = phrases()
    assert set(table["acts"]) <= set(ACTS)
    assert set(table["together"]) <= set(known["acts_together"])
    assert set(table["items"]) <= set(CARRY.items)
    assert set(table["undone"]) <= set(known["acts"])
    assert set(table["options"]) <= set(sentences_of()["options"])
    for fact, values in table["facts"].items():
        assert set(values) <= {*FACTS[fact].values, *known["facts"][fact]["values"]}, fact
