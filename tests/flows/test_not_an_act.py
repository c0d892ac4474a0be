"""What says not done, not sure, not all, not ours or not this is never an act, but asked about.

The sentences are sisters of what drivers said; the frames are put round the words of every step.
"""

import pytest

from flows.hearing.answers import answer_for
from flows.hearing.lexicon import lexicon_of
from flows.hearing.understand import understand
from flows.job.events import MINUTE_NS
from flows.job.intents import Did, DidAll, Give, Intent, Settled, When
from flows.job.state import Job
from flows.routine.book import Book
from flows.routine.carry import CARRY
from flows.routine.items import Gate, Item, Question, Step, Wait
from flows.telling.render import render
from flows.texts import phrases
from tests.flows.talker import PLACE, TO_MARGIN, TO_NEUTRAL, demo_library, open_item, told

LIBRARY = demo_library()
LEXICON = lexicon_of(LIBRARY)
JOB = Job(1, Book(CARRY, LIBRARY))
CRITICAL = [
    item
    for item in CARRY.items.values()
    if isinstance(item, Step | Gate) and item.critical and item.acts and not isinstance(item, Wait)
]

TO_DANGER = ("new job breakdown", PLACE)
TO_CHOCK = TO_MARGIN[: TO_MARGIN.index("chocked")]
TO_HOOK = TO_NEUTRAL[: TO_NEUTRAL.index("hooked")]
TO_TENSION = (*TO_HOOK, "hooked", "away")
TO_CHOCKS_OUT = (*TO_NEUTRAL, "neutral now", "confirmed")
TO_DECK = (*TO_CHOCKS_OUT, "chocks out", "away", "go")
TO_STRAPS = (*TO_DECK, "on deck", "parked")


def of_id(item: Item) -> str:
    return item.id


def done(found: tuple[Intent, ...]) -> list[Intent]:
    return [one for one in found if isinstance(one, Did | DidAll | Settled)]


def read(item: Item, said: str) -> tuple[Intent, ...]:
    return understand(said, answer_for(JOB, item), LEXICON)


FRAMES = (
    "almost {}", "nearly {}", "not {}", "not {} yet", "ain't {}", "aint {}", "hain't {}",
    "hardly {}", "barely {}", "half {}", "only half {}", "supposed to be {}", "should be {}",
    "used to be {}", "was {}", "was {} before", "gonna be {}", "about to be {}",
    "fixing to be {}", "fixin to be {}", "fixin' to be {}", "finna be {}", "trying to get it {}",
    "tryin to get {}", "getting {}", "starting to get {}", "has to be {}", "have to get it {}",
    "too {}", "{} i think", "i think it's {}", "{}, i think", "{} maybe", "{}, maybe",
    "{} on one side", "{}, one side", "{} on the left", "{}, left side only", "most of it {}",
    "he says it's {}", "she says {}", "they told me {}", "sam says {}", "heard it's {}",
    "{}, he says", "{} says the owner", "is it {}", "so is it {}", "ok is it {}", "how is it {}",
    "what's {} mean", "when it's {}", "if it's {}", "once it's {}", "{} but it slips",
    "{}, but it slips", "{} except one", "{} wibble", "wibble {}", "{}, not quite", "{}, not sure",
    "the one next to it is {}", "my coffee is {}", "like {}", "kinda {}", "sort of {}",
    "{} in a bit", "{} later", "let's get it {}", "wish it was {}",
)  # fmt: skip


@pytest.mark.parametrize("item", CRITICAL, ids=of_id)
def test_a_state_in_doubt_is_no_act_whatever_step_is_open(item: Item) -> None:
    word = phrases()["steps"][item.id][0]
    taken = [frame for frame in FRAMES if done(read(item, frame.format(word)))]
    assert not taken


QUESTIONS = [item for item in CARRY.items.values() if isinstance(item, Question)]


@pytest.mark.parametrize("said", ["off", "pulled", "removed", "tied down", "strapped on tight"])
def test_a_bare_state_is_no_act_where_a_question_is_open(said: str) -> None:
    """ "Pulled", at the question which wheels drive it, had taken all four straps off."""
    assert [item.id for item in QUESTIONS if done(read(item, said))] == []


STRAPS = [item for item in CRITICAL if item.id in {f"secure.{one}" for one in (
    "left_front", "right_front", "left_rear", "right_rear")}]  # fmt: skip


@pytest.mark.parametrize("item", STRAPS, ids=of_id)
@pytest.mark.parametrize("said", ["on", "tied down", "tightened", "strapped", "cinched down"])
def test_what_is_said_of_one_strap_is_never_said_of_two(item: Item, said: str) -> None:
    """ "Tied down", where one strap is asked about, had strapped both wheels of its end."""
    assert len(done(read(item, said))) <= 1
    assert len(done(read(item, f"both fronts {said}"))) != 1


PLAIN = (
    "{}", "yep {}", "yeah {}", "ok {}", "{} boss", "{} man", "{} sir", "all set, {}",
    "{} now", "alright {}", "ok so uh {}", "{} thanks", "copy, {}", "{} for sure",
)  # fmt: skip


@pytest.mark.parametrize("item", CRITICAL, ids=of_id)
def test_small_words_beside_a_state_keep_it_done(item: Item) -> None:
    word = phrases()["steps"][item.id][0]
    lost = [frame for frame in PLAIN if not done(read(item, frame.format(word)))]
    assert not lost


@pytest.mark.parametrize(
    ("before", "said"),
    [
        (TO_CHOCK, "the truck's chocks are in"),
        (TO_CHOCK, "chocked one way only"),
        (TO_CHOCK, "front wheels chocked"),
        (TO_CHOCK, "chocked on the right"),
        (TO_CHOCK, "sam chocked it"),
        (TO_CHOCK, "it was chocked before i moved it"),
        (TO_CHOCK, "chocked in five minutes"),
        (TO_HOOK, "hooked to the battery case"),
        (TO_HOOK, "hooked, to the battery case"),
        (TO_HOOK, "hooked the suspension"),
        (TO_HOOK, "hooked on a control arm"),
        (TO_HOOK, "sam hooked it"),
        (TO_HOOK, "he hooked it"),
        (TO_HOOK, "hook is on the ground"),
        (TO_HOOK, "hooked my trailer"),
        (TO_TENSION, "lug nuts are tight"),
        (TO_TENSION, "strap's tight"),
        (TO_TENSION, "space is tight in here"),
        (TO_TENSION, "tight squeeze"),
        (TO_TENSION, "tight but the hook slips"),
        (TO_TENSION, "getting tight"),
        (TO_TENSION, "is the line tight"),
        (TO_NEUTRAL, "trucks in neutral, pto on"),
        (TO_NEUTRAL, "my transmission's in neutral"),
        (TO_NEUTRAL, "where's neutral"),
        (TO_NEUTRAL, "what's neutral on this"),
        (TO_NEUTRAL, "about to go neutral"),
        (TO_NEUTRAL, "neutral does not work"),
        (TO_NEUTRAL, "neutral light isnt on"),
        (TO_NEUTRAL, "they told me it's neutral"),
        (TO_NEUTRAL, "donor is in neutral"),
        (TO_CHOCKS_OUT, "about to take the chocks out"),
        (TO_CHOCKS_OUT, "takin' the chocks out"),
        (TO_CHOCKS_OUT, "want the chocks out"),
        (TO_CHOCKS_OUT, "chocks out on the left"),
        (TO_DECK, "front wheels are on deck"),
        (TO_DECK, "half on deck"),
        (TO_DECK, "nose is on deck"),
        (TO_STRAPS, "strapped his trailer"),
        (TO_STRAPS, "left front strapped i think"),
    ],
)  # fmt: skip
def test_what_is_not_done_or_of_something_else_is_asked_about(
    before: tuple[str, ...], said: str
) -> None:
    talker = told(*before)
    acts, item = talker.job.acts.changed(), open_item(talker)
    assert talker.say(said)
    assert talker.job.acts.changed() == acts
    assert open_item(talker) == item


@pytest.mark.parametrize(
    ("before", "said", "act"),
    [
        (TO_CHOCK, "chocked it front n back", "chocks_in"),
        (TO_CHOCK, "wheel chocks in", "chocks_in"),
        (TO_HOOK, "tow eye's in and hooked", "hooked"),
        (TO_HOOK, "son of a bitch is hooked", "hooked"),
        (TO_HOOK, "no, it's hooked", "hooked"),
        (TO_TENSION, "winch line's good and tight", "tension_on"),
        (TO_TENSION, "all the slack is out", "tension_on"),
        (TO_NEUTRAL, "shifter's in neutral now", "neutral_selected"),
        (TO_CHOCKS_OUT, "both chocks out", "chocks_out"),
        (TO_DECK, "all the way on deck", "on_deck"),
        (TO_STRAPS, "left front wheel's strapped", "strapped_left_front"),
    ],
)  # fmt: skip
def test_its_own_parts_and_small_words_do_not_hide_an_act(
    before: tuple[str, ...], said: str, act: str
) -> None:
    talker = told(*before)
    talker.say(said)
    assert talker.job.acts.holds(act)


@pytest.mark.parametrize(
    "said", ["{} is not on", "{} isn't on", "{} ain't on", "no wait, {} is not on"]
)
@pytest.mark.parametrize(("part", "act"), [("hook", "hooked"), ("line", "line_on")])
def test_not_on_takes_back(said: str, part: str, act: str) -> None:
    talker = told(*TO_TENSION)
    assert talker.job.acts.holds(act)
    talker.say(said.format(part))
    assert not talker.job.acts.holds(act)


@pytest.mark.parametrize("said", ["straps off boss", "hooked, straps off boss"])
def test_an_act_of_several_among_other_words_is_each_act(said: str) -> None:
    found = done(read(CARRY.items["drop.straps"], said))
    assert not any(isinstance(one, DidAll) for one in found)
    assert found


def test_straps_that_are_not_on_are_in_doubt() -> None:
    talker = told(*TO_STRAPS, "strapped", "strapped")
    talker.say("straps are not on")
    assert not talker.job.acts.holds("strapped_left_front")


def test_tight_at_the_straps_is_no_line() -> None:
    talker = told(*TO_STRAPS, "strapped", "strapped", "strapped", "strapped", "slack")
    assert open_item(talker) == "secure.settle"
    talker.say("they're tight")
    assert open_item(talker) == "secure.photos"
    assert not talker.job.acts.holds("tension_on")


def test_it_is_asked_with_its_object() -> None:
    talker = told(*TO_HOOK)
    assert render(talker.say("hooked to the battery case")[-1]).spoken == "Hooked to what?"


@pytest.mark.parametrize(
    ("before", "word"),
    [(TO_CHOCK, "chocked"), (TO_HOOK, "hooked"), (TO_TENSION, "tight"), (TO_NEUTRAL, "neutral"),
     (TO_CHOCKS_OUT, "chocks out"), (TO_STRAPS, "strapped")],
)  # fmt: skip
def test_a_second_miss_never_names_the_state(before: tuple[str, ...], word: str) -> None:
    talker = told(*before)
    second = render(talker.say("wibble", "it is still wobbling")[-1])
    assert word not in second.spoken.lower()
    assert word not in second.shown.lower()


@pytest.mark.parametrize(
    "said", ["no leaks", "no smoke", "not leaking", "no smell", "no smoke, no leaks"]
)
def test_one_sign_denied_asks_for_the_rest(said: str) -> None:
    talker = told(*TO_DANGER)
    talker.say(said)
    assert open_item(talker) == "scene.danger"
    talker.say("none")
    assert talker.job.value("danger") == "none"


@pytest.mark.parametrize("said", ["owner says it wakes", "it wakes, he says"])
def test_a_deciding_fact_is_nobody_elses_word(said: str) -> None:
    found = read(CARRY.items["access.wakes"], said)
    assert not any(isinstance(one, Give) for one in found)


# Times


@pytest.mark.parametrize(
    ("said", "clocks"),
    [
        ("twelve fifteen", {(0, 15), (12, 15)}),
        ("12 15", {(0, 15), (12, 15)}),
        ("fourteen fifteen", {(14, 15)}),
        ("since twelve fifteen", {(0, 15), (12, 15)}),
    ],
)
@pytest.mark.parametrize("item", ["neutral.when", "neutral.select"])
def test_two_numbers_are_a_time_of_day(item: str, said: str, clocks: set[tuple[int, int]]) -> None:
    found = read(CARRY.items[item], said if item.endswith("when") else f"neutral {said}")
    (when,) = (one for one in found if isinstance(one, When))
    assert {(one.hour, one.minute) for one in when.clocks} == clocks


def test_minutes_that_are_said_are_minutes() -> None:
    found = read(CARRY.items["neutral.when"], "fifteen twenty minutes ago")
    assert found == (When(20),)


@pytest.mark.parametrize(
    "said",
    [
        "twnty eight",
        "twnty eight minutes ago",
        "thrity five minutes ago",
        "fourty wibble two minutes",
    ],
)
@pytest.mark.parametrize("item", ["neutral.when", "neutral.select"])
def test_an_unknown_word_beside_a_number_is_never_dropped(item: str, said: str) -> None:
    for text in (said, f"neutral {said}", f"neutral, {said}"):
        found = read(CARRY.items[item], text)
        assert not any(isinstance(one, When | Settled | Did) for one in found), text


@pytest.mark.parametrize(
    "said",
    ["over ten minutes ago", "at least ten minutes", "10+ minutes ago", "more than 10 minutes",
     "ten or more minutes", "a good ten minutes", "well over ten minutes ago"],
)  # fmt: skip
def test_at_least_so_long_shortens_the_window_and_is_asked_again(said: str) -> None:
    talker = told(*TO_NEUTRAL, f"neutral, {said}")
    window = talker.job.window
    assert window is not None
    assert talker.at.mono_ns - window.earliest_ns >= 10 * MINUTE_NS
    assert open_item(talker) == "neutral.when"
    talker.say(said)
    assert open_item(talker) == "neutral.when"
    talker.say("twelve minutes ago")
    assert talker.job.value("neutral_when") == 12
    assert talker.job.window is not None
    assert talker.job.window.earliest_ns < window.earliest_ns
