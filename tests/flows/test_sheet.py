"""The sheet: what is still ahead, in the order of the routine, with every way off it."""

from dataclasses import replace
from html.parser import HTMLParser

import pytest
from typing_extensions import override

from bot.commands.demo import conversation, parse
from flows.routine.items import HandOff
from flows.turn import sheet
from flows.turn.sheet_page import page
from tests.flows.talker import DISPATCHER, TO_CLOSE, TO_MARGIN, TO_NEUTRAL, Talker, demo_library

CARDS = sorted(demo_library().vehicles)


def opened(*texts: str) -> Talker:
    talker = Talker(demo_library())
    talker.say("new job breakdown", "mile 9", *texts)
    return talker


def items(talker: Talker) -> list[str]:
    return [line.item for line in sheet.lines(talker.job)]


def test_it_waits_for_vehicle_and_truck() -> None:
    for texts in ((), ("harrow",), ("heron",), ("no card", "heron")):
        talker = opened(*texts)
        assert not sheet.is_ready(talker.job)
        assert talker.say("sheet")[0].key == "says.sheet_not_yet"
    for texts in (("harrow", "heron"), ("no card", "midsize suv", "heron")):
        assert sheet.is_ready(opened(*texts).job)


def test_asking_for_it_changes_nothing() -> None:
    talker = opened("harrow", "heron")
    before = talker.job
    said = talker.say("sheet")
    kept = {"seq": before.seq, "now": before.now, "last_heard": before.last_heard}
    assert replace(talker.job, **kept) == before  # type: ignore[arg-type]  # fields of a job
    assert [reply.key for reply in said][:1] == ["says.sheet"]
    assert talker.say("the sheet", who=DISPATCHER)[0].key == "says.sheet"


@pytest.mark.parametrize("card", CARDS)
def test_the_plain_way_of_every_card_ends_at_the_close(card: str) -> None:
    found = sheet.lines(opened(card, "heron").job)
    plain = [line for line in found if not line.depth]
    assert plain[-1].section in {"Close", "Margin"}, "or where the margin ends it"
    assert len({line.item for line in plain}) == len(plain)
    assert sum(line.is_timed for line in plain) <= 2, "neutral onto the deck, and off it"


def test_the_release_keeps_its_order_off_the_plain_way() -> None:
    """The routine's section 7: isolation open, pinned, pull, plug out, pin out, closed again."""
    found = sheet.lines(opened("harrow", "heron").job)
    start = next(place for place, line in enumerate(found) if line.item == "cord.open_1")
    assert [line.item for line in found[start : start + 7]] == [
        "cord.open_1", "cord.pin_1", "cord.pause", "cord.pull", "cord.out", "cord.unpin_1",
        "cord.close_1",
    ]  # fmt: skip
    assert {line.depth for line in found[start : start + 7]} == {2}
    whens = [line.when for line in found if line.when]
    assert "stuck" in whens
    assert "no" in whens


@pytest.mark.parametrize("name", ["plain_carry", "stuck_cord_forgotten_disconnect"])
def test_what_a_conversation_is_asked_later_was_on_the_sheet(name: str) -> None:
    """Played on from where vehicle and truck are known, nothing is asked that it left out."""
    talker = Talker(demo_library())
    steps = [step.text for step in parse(conversation(name)) if step.kind == ">"]
    on_sheet: set[str] = set()
    later: list[str] = []
    for text in steps:
        replies = talker.say("take over" if text == "job 1" else text)
        routine = talker.job.book.routine
        if on_sheet:
            later += [r.item for r in replies if r.item and routine.section_of[r.item].id
                      not in routine.first]  # fmt: skip
        elif sheet.is_ready(talker.job):
            on_sheet = set(items(talker))
    no_line = {"neutral.when", "margin.figure", "plan.figure"}
    assert later
    assert set(later) - on_sheet - no_line == {"neutral.disconnect_1"} & set(later)


def test_what_is_done_is_no_longer_ahead() -> None:
    ahead = items(opened("harrow", "heron"))
    at_margin = Talker(demo_library())
    at_margin.say(*TO_MARGIN)
    # A VIN that was not read is asked once more at the drop.
    assert set(items(at_margin)) - {"drop.vin"} < set(ahead)
    assert not any(item.startswith("scene.") for item in items(at_margin))
    talker = Talker(demo_library())
    talker.say(*TO_NEUTRAL, "neutral now", *TO_CLOSE[:-1])
    assert items(talker) == ["close.seal"]


def test_a_way_that_ends_says_so_once_for_all_answers_that_lead_there() -> None:
    found = sheet.lines(opened("harrow", "heron").job)
    ends = [line for line in found if line.item == "attach.will_not_roll"]
    assert [line.when for line in ends] == ["none"]
    routine = opened().job.book.routine
    assert isinstance(routine.items["attach.will_not_roll"], HandOff)


def test_text_and_page_say_the_same() -> None:
    job = opened("harrow", "heron").job
    read = Text()
    read.feed(page(job))
    shown, said = " ".join(" ".join(read.found).split()), sheet.text(job)
    for line in sheet.lines(job):
        assert line.text in shown
        assert line.text in said
    for text in (*sheet.head(job), *sheet.foot()):
        assert text in shown
        assert text in said
    assert page(job) == page(job)


class Text(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    @override
    def handle_data(self, data: str) -> None:
        self.found.append(data)
