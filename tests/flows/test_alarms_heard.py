"""An emergency in anybody's words is heard, or asked about at once; harmless talk is neither."""

from copy import copy
from dataclasses import replace
from functools import cache

import pytest

from flows.hearing.answers import NOTHING
from flows.hearing.lexicon import EMERGENCIES, lexicon_of
from flows.hearing.prompts import prompt_for
from flows.hearing.spelling import is_slip_of
from flows.hearing.understand import understand
from flows.job.intents import Alarm, Chosen, Danger, Did, Give, Intent, Undid, Word
from flows.telling.render import render
from tests.flows.talker import (
    DISPATCHER,
    TO_CLOSE,
    TO_NEUTRAL,
    TO_ROAD,
    Talker,
    demo_library,
    open_item,
)

ON_THE_PULL = (*TO_NEUTRAL, "neutral now", *TO_CLOSE[:4])
ON_THE_ROAD = (*TO_NEUTRAL, "neutral now", *TO_ROAD, "go")
TIGHT = TO_NEUTRAL[: TO_NEUTRAL.index("tight") + 1]
HOOK = TO_NEUTRAL[: TO_NEUTRAL.index("hooked")]
PLACES = {
    "place": ("new job breakdown",),
    "danger": TO_NEUTRAL[:2],
    "chock": TO_NEUTRAL[: TO_NEUTRAL.index("chocked")],
    "slope": TO_NEUTRAL[: TO_NEUTRAL.index("level")],
    "hook": HOOK,
    "tension": TIGHT[:-1],
    "neutral": TO_NEUTRAL,
    "pull": ON_THE_PULL,
    "road": ON_THE_ROAD,
    "held": (*HOOK, "hold"),
}
"""Where it is said: at free words, at a choice, at critical steps, on the pull, on the road."""


@cache
def _after(texts: tuple[str, ...]) -> Talker:
    talker = Talker(demo_library())
    talker.say(*texts)
    return talker


def told(*texts: str) -> Talker:
    """Return a talker of its own who has said these; what was said before is run once."""
    talker = copy(_after(texts))
    talker.replies = list(talker.replies)
    return talker


def meant(text: str) -> tuple[Intent, ...]:
    return understand(text, NOTHING, lexicon_of(demo_library()))


def kind_of(talker: Talker) -> str:
    pending = talker.job.pending
    return "" if pending is None else pending.kind


SMOKE_AT_ONCE = (
    "no wait there's smoke", "oh no smoke", "it won't move and it's smoking",
    "never mind there's smoke", "no flames just smoke", "smokin' bad", "it's burnin",
    "thermal runaway",
    "doesn't start but it's smoking", "no i see flames", "hell no it's on fire",
    "can't get in because it's smoking", "not hooked, smoke", "no look smoke",
    "no the hood is smoking", "nothing moves but there are sparks", "hissin under there",
    "flares are out and the car is smoking", "set the flares out, smoke from the hood",
    "flare caught and the grass is on fire",
)  # fmt: skip
SMOKE_ASKED = (
    "smoek", "fier", "firee", "its on fir", "not smoking but it's real warm", "flamse",
    "batterys venting", "i see a glow underneath", "pack's heating up", "the battery's boiling",
    "foam coming out of the battery", "theres gas coming out", "its catching", "hear a pop",
    "little steam maybe", "floors bowed up underneath", "the pack is swelling",
    "leakin pretty bad",
    "won't start and smoking", "don't think it's smoking", "it's sizzlin", "vapour from the vent",
    "cable is hot", "it's gettin hot", "something is dripping under it",
    "no smoke but it leaks", "chocked and it's venting", "smke", "it reeks", "melting plastic",
)  # fmt: skip
MOVING_ASKED = (
    "the cables fraying", "line's slipping", "it's comin off the side", "she's getting away",
    "load shifted", "get back", "it is lettin go", "the strap is parting", "hook is slippin",
    "it's tipping", "line is gonna snap", "anchor gave way", "everybody run", "look out",
    "car is coming off", "the rope is frayed", "coming undone",
)  # fmt: skip
PEOPLE_ASKED = (
    "my foot's under it", "guy passed out", "somebody hit the cones", "wrong way driver coming",
    "there's an injured man", "he isn't breathing",
    "ran over his foot", "a man is bleedin", "she collapsed", "his hand is in the winch",
)  # fmt: skip


def is_heard(talker: Talker, before: Talker) -> bool:
    new = talker.replies[len(before.replies) :]
    stops = any(reply.priority == "stop" and reply.to == "driver" for reply in new)
    return stops and (talker.job.acts["danger"] == "seen" or talker.job.alarm is not None)


@pytest.mark.parametrize("place", PLACES)
def test_an_emergency_is_heard_whatever_is_open(place: str) -> None:
    missed = []
    for said in (*SMOKE_AT_ONCE, *SMOKE_ASKED, *MOVING_ASKED, *PEOPLE_ASKED):
        talker = told(*PLACES[place])
        talker.say(said)
        if not is_heard(talker, _after(PLACES[place])):
            missed.append(said)
    assert missed == []


@pytest.mark.parametrize("said", SMOKE_AT_ONCE)
def test_a_sign_counts_past_the_negation_of_something_else(said: str) -> None:
    assert isinstance(meant(said)[0], Danger)


@pytest.mark.parametrize(
    ("kind", "said"),
    [("smoke", one) for one in SMOKE_ASKED]
    + [("moving", one) for one in MOVING_ASKED]
    + [("people", one) for one in PEOPLE_ASKED],
)
def test_what_may_be_an_emergency_is_asked_about_and_nothing_else_is_taken(
    kind: str, said: str
) -> None:
    talker = told(*HOOK)
    before = talker.job.acts
    (reply,) = talker.say(said)
    assert (reply.key, reply.priority) == (f"says.alarm_{kind}", "stop")
    assert talker.job.acts == before


@pytest.mark.parametrize("said", ["no stop", "don't move, stop", "don't move stop", "stop stop",
                                  "not hooked stop", "never mind stop"])  # fmt: skip
def test_stop_is_heard_past_a_negation_of_something_else(said: str) -> None:
    assert meant(said) == (Word("stop"),)


@pytest.mark.parametrize("said", ["don't stop", "do not ever stop", "no need to stop", "stop sign",
                                  "no stop button on this one", "never gonna stop"])  # fmt: skip
def test_a_stop_that_is_denied_is_none(said: str) -> None:
    assert Word("stop") not in meant(said)


@pytest.mark.parametrize("said", ["no smoke", "no smoke or fire", "i don't see any smoke",
                                  "it isn't hot", "nobody is hurt", "nothing is leaking",
                                  "no leaks and no sparks", "ain't smoking"])  # fmt: skip
def test_what_is_denied_is_no_alarm(said: str) -> None:
    assert not any(isinstance(one, Danger | Alarm) for one in meant(said))


PINNED = (
    "he's pinned", "driver is pinned in there", "my helper's pinned",
    "they're pinned against the rail", "he is trapped", "the kid got pinned by the door",
    "driver pinned in the seat", "im pinned",
    "owner got trapped",
)  # fmt: skip


@pytest.mark.parametrize("said", PINNED)
def test_somebody_pinned_is_hurt(said: str) -> None:
    assert meant(said) == (Word("hurt"),)


@pytest.mark.parametrize("said", ["pinned open", "disconnect's pinned open"])
def test_a_disconnect_is_pinned(said: str) -> None:
    assert meant(said) == (Did("isolation_pinned_1"),)


def test_pinned_alone_is_the_disconnect_only_where_that_is_asked_for() -> None:
    where = replace(NOTHING, acts=("isolation_pinned_1",))
    lexicon = lexicon_of(demo_library())
    assert Alarm("people") not in understand("pinned", where, lexicon)
    assert meant("pinned") == (Alarm("people"),)


HARMLESS = (
    "three flares burning behind us", "gonna grab a smoke first", "smoke break",
    "fire up the winch",
    "fire dept is here", "hot coffee", "stop sign", "im fired up", "hot out here", "fire it up",
    "the flares are still burning", "smoke from my flares", "county fire is here",
    "glow sticks out",
    "popped the hood", "it popped open", "gas station on the left", "out of gas", "runs on gas",
    "we're rolling", "rolling", "still rolling", "all four rolling", "sliding door side",
    "snapped a pic", "straps coming off", "get back to you", "it won't hurt anything", "strapped",
    "chocking it now", "hooked the frame", "i spoke to him", "bleeding the air brakes", "lets go",
    "turned the heat on", "warm up the truck", "steam cleaned it", "through the spokes",
    "parking brake", "he hears it", "hearing nothing", "turning it round", "missing a wheel",
)  # fmt: skip


@pytest.mark.parametrize("said", HARMLESS)
def test_ordinary_talk_is_no_emergency(said: str) -> None:
    for place in ("chock", "hook", "neutral"):
        talker = told(*PLACES[place])
        talker.say(said)
        assert talker.job.acts["danger"] == "none", place
        assert talker.job.alarm is None, place
        assert kind_of(talker) == "", place


BY_SHAPE = {
    Alarm("smoke"): (
        "a wisp curlin up out of the seam", "hub on the right is cherry red",
        "something is cookin under the seat", "it's whistlin like a kettle",
        "heard a bunch of little cracks from the floor", "it flared back up",
        "thing is goin off like a roman candle", "the donor just caught", "it's oozin underneath",
        "module four is ninety and still climbin", "the floor's gettin toasty",
    ),
    Alarm("people"): (
        "my partner's wedged between the bumper and the wall", "it came down on his boot",
        "his sleeve is wrapped up in the drum", "old fella won't wake up", "that post bit me",
        "a pickup just clipped my rookie", "there's a baby in there", "the boss is down",
        "my buddys coughin bad", "i been hit", "the gas is makin me dizzy",
    ),
    Alarm("moving"): (
        "my rig's a-walkin backwards", "she lurched", "soon as I slacked it she took off",
        "it's headed for traffic", "the hook's straightenin out", "a strand just let go",
        "she's hangin half off the deck", "back wheel rolled right over the block",
    ),
    Word("in_path"): (
        "a toddler ran under the deck",
        "some drunk is wanderin in front of it", "a kid crawled underneath",
        "there's a guy straddlin the winch line",
    ),
    Word("winch_runs"): ("the winch won't quit", "the lever's stuck and it keeps pullin"),
    Word("stop"): (
        "no no no", "abort", "belay that", "kill the winch", "shut it off shut it off", "stpo",
        "stooop", "ease off ease off",
        "that's far enough", "hold her right there", "no don't pull", "quit pulling",
    ),
}  # fmt: skip


@pytest.mark.parametrize(
    ("wanted", "said"), [(wanted, said) for wanted, every in BY_SHAPE.items() for said in every]
)
def test_an_emergency_is_known_by_its_parts(wanted: Intent, said: str) -> None:
    assert meant(said)[-1] == wanted


BY_PARTS = {
    Alarm("smoke"): (
        "got white fog rollin out the rocker panel", "cabin's fillin up with haze",
        "windows are gone all milky from the inside", "it just lit off", "grass caught under it",
        "the weeds caught", "we got a fahr", "puddle growin under the battery",
        "there is a puddle under it", "gas is pouring out", "fuel's pourin out",
        "antifreeze everywhere under it", "tank's punctured", "water's over the floorboards",
        "it's sittin in water over the rockers", "water above the floor",
        "damage under the floor", "case is cracked open", "cells are layin on the road",
    ),
    Alarm("people"): (
        "leg's broke I think", "I cut myself bad", "can't feel my legs", "pinned against the rail",
        "squished between the bumper and the deck", "guy just came through my cones",
        "drunk's comin right at us", "a truck about took my door off",
        "guy ran over the triangles",
        "power line's layin across the hood", "there's a live wire on the roof",
        "tree's fallin on us", "we're on the tracks",
    ),
    Alarm("moving"): (
        "chock spit out and she's goin", "block popped out from under the tire",
        "it's comin off the deck", "nose dropped off the deck", "it's gonna flip", "line broke",
        "strap let go on the highway", "wedges are gone", "chocks are gone", "skate slid out",
    ),
    Word("stop"): (
        "run", "run for it",
    ),
    Word("winch_runs"): ("can't get the winch to quit",),
}  # fmt: skip


@pytest.mark.parametrize(
    ("wanted", "said"), [(wanted, said) for wanted, every in BY_PARTS.items() for said in every]
)
def test_parts_that_spill_break_or_come_at_us_are_known(wanted: Intent, said: str) -> None:
    assert wanted in meant(said)


def test_they_are_heard_whatever_is_open() -> None:
    lexicon = lexicon_of(demo_library())
    seen = (Give("danger", "seen"), Chosen(Give("danger", "seen")))
    expected = {Word("stop"), *seen, *map(Word, (*EMERGENCIES, "strap_off"))}
    for place, texts in PLACES.items():
        answer = prompt_for(told(*texts).job).answer
        for said in (one for every in BY_PARTS.values() for one in every):
            if said.startswith("run") and answer.takes_note:
                continue  # a place may be a run
            found = understand(said, answer, lexicon)
            heard = any(isinstance(one, Alarm | Danger) or one in expected for one in found)
            assert heard, (place, said)


@pytest.mark.parametrize("said", ["chocks are gone", "wedges are gone", "chocks gone"])
def test_chocks_that_are_gone_are_no_alarm_only_where_they_are_to_go(said: str) -> None:
    answer = prompt_for(told(*TO_NEUTRAL, "neutral now", *TO_CLOSE[:1]).job).answer
    for at, acts in ((True, ("chocks_out",)), (False, ("hooked",))):
        found = understand(said, replace(answer, acts=acts), lexicon_of(demo_library()))
        assert (Alarm("moving") not in found and Word("chock_off") not in found) is at


ORDINARY = (
    "boss is gonna fire me if I'm late again", "everybody's way out of the line of fire",
    "got fired from my last outfit", "burnt my tongue on this coffee, it's hot",
    "hot as blazes out here today", "cold as blazes this mornin",
    "somebody's barbecuin, smells good", "had a guy get hurt on this stretch last winter",
    "broke my leg skiin when I was a kid", "brake popped and a block under the duals",
    "scotched it fore and aft", "snapped all four corners and the dash and the tag",
    "snapped the disconnect shut", "hooked and snapped", "tow eye cap's popped off",
    "got in her, driver door's open", "got a bite on both control arm holes",
    "buddy had one up on the deck of his boat", "rollback is rolled back and dropped",
    "parked it, brake set, shut it down", "passenger rear's down, strap sings",
    "the barn next to it burned", "she'd roll at me if she let go",
    "they had blocks under it fore I got here but somebody took em", "just quit on the lady",
    "phone's hot", "clouds rollin in", "light's burnin on the bar", "PTO's in and she's humming",
)  # fmt: skip


@pytest.mark.parametrize("said", ORDINARY)
def test_ordinary_words_of_another_thing_are_no_emergency(said: str) -> None:
    told_ = {Word("stop"), *map(Word, EMERGENCIES)}
    assert not any(isinstance(one, Danger | Alarm) or one in told_ for one in meant(said))


LIKE_ORDINARY = (
    "strap snapped, picture it", "it's smoking again like last winter",
    "brake popped and it's rolling",
    "line of fire under the hood, it's burning", "hot coffee, and the pack is hot",
    "the cable snapped back on me", "shut it down", "he got hurt just now",
)  # fmt: skip


@pytest.mark.parametrize("said", LIKE_ORDINARY)
def test_the_same_words_of_ours_are_one(said: str) -> None:
    told_ = {Word("stop"), *map(Word, EMERGENCIES)}
    assert any(isinstance(one, Danger | Alarm) or one in told_ for one in meant(said))


NONE_BY_SHAPE = (
    "that leak's my thermos", "the only smoke is off that fella's cigar", "fire marshal's office",
    "it's on Fire Tower Road past the creek", "hotter than hell out here on this blacktop",
    "we burn rubber after this", "these straps smoke the cheap ones", "hot to trot",
    "drove past a skunk, that's the stink", "that strap will stop a freight train", "burger stop",
    "owner quit smoking in it years ago", "the dash is glowing", "red fell off the post",
    "they take burnt ones too", "fire em off to you", "the customer is stuck at work",
    "the alarm went off", "the deck is going up", "hit stop on the screen", "dust blowing around",
    "nothin leakin", "we put it up on the jack", "my partner went down the road for cones",
)  # fmt: skip


@pytest.mark.parametrize("said", NONE_BY_SHAPE)
def test_what_sounds_like_an_emergency_is_none_by_its_parts(said: str) -> None:
    told_ = {Word("stop"), *map(Word, EMERGENCIES)}
    assert not any(isinstance(one, Danger | Alarm) or one in told_ for one in meant(said))


STILL_REAL = (
    "smoke from the grill", "there's fire phone 911", "flares out and it's smoking",
    "it's hot out here and the pack is hotter", "the car is on fire tower road is closed",
    "smoke everybody get back", "i'm burning up", "i see smoke rise from the hood",
    "a light glow from the battery", "only a little leak", "battery's warm today",
    "the outside is hot", "hissing like a kettle", "dash is glowing red",
    "hot coffee spilled no wait the battery is hot", "it was smoking a year ago and it is again",
)  # fmt: skip


@pytest.mark.parametrize("said", STILL_REAL)
def test_no_shape_of_ordinary_talk_hides_a_sign(said: str) -> None:
    found = meant(said)[-1]
    assert isinstance(found, Danger) or found == Alarm("smoke")


ANSWERS = {
    "road": ("still rolling", "rolling along fine"),
    "pull": ("she slid right up", "she rolled up nice and easy", "she's rolling up the deck"),
}


@pytest.mark.parametrize("place", ANSWERS)
def test_what_should_move_may_move(place: str) -> None:
    before = told(*PLACES[place])
    for said in ANSWERS[place]:
        talker = told(*PLACES[place])
        talker.say(said)
        assert (talker.job.alarm, talker.job.acts["winch"]) == (None, before.job.acts["winch"]), (
            said
        )


# The question


WORST = {"smoke": ("venting", "danger"), "people": ("passed out", "hurt"),
         "moving": ("line is fraying", "moving")}  # fmt: skip


@pytest.mark.parametrize("kind", WORST)
@pytest.mark.parametrize("how", ["yes", "not sure", "its own word", "said again"])
def test_a_yes_and_whatever_is_no_clear_no_is_an_emergency(kind: str, how: str) -> None:
    said, word = WORST[kind]
    talker = told(*HOOK, said)
    talker.say({"its own word": word, "said again": said}.get(how, how))
    told_ = {"smoke": "says.danger_told", "people": "says.hurt_told", "moving": "says.loose_told"}
    assert told_[kind] in {reply.key for reply in talker.replies}
    assert kind_of(talker) == ""


@pytest.mark.parametrize(("kind", "no"), [("smoke", "none"), ("people", "nobody"),
                                          ("moving", "holding"), ("smoke", "no danger"),
                                          ("smoke", "false alarm")])  # fmt: skip
def test_without_an_emergency_it_goes_on(kind: str, no: str) -> None:
    talker = told(*HOOK, WORST[kind][0])
    talker.say(no)
    assert (open_item(talker), kind_of(talker)) == ("attach.hook", "")
    assert talker.job.acts["danger"] == "none"
    assert talker.say("hooked")[-1].key == "items.attach.away"


def test_other_words_are_asked_again_with_the_choices() -> None:
    talker = told(*HOOK, "venting")
    for said in ("the blue one", "back", "skip", "hand off", "problem"):
        replies = talker.say(said)
        assert kind_of(talker) == "alarm_smoke", said
        assert "none" in render(replies[-1]).shown or "dispatch" in render(replies[-1]).spoken


def test_the_winch_stops_first() -> None:
    talker = told(*ON_THE_PULL)
    talker.say("line's fraying")
    assert talker.job.acts["winch"] == "unknown"
    assert open_item(talker) == "recover.stop"
    assert talker.say("stopped")[-1].key == "says.alarm_moving"
    talker.say("holding")
    assert kind_of(talker) == ""


def test_on_the_road_it_is_said_once_and_asked_at_the_stop() -> None:
    """The rule rolling: nothing that needs an answer."""
    talker = told(*ON_THE_ROAD)
    replies = talker.say("something is leaking back there")
    assert [(one.to, one.key) for one in replies] == [
        ("driver", "says.alarm_rolling"), ("dispatchers", "says.rolling_told")]  # fmt: skip
    assert all(one.answer.kind == "nothing" for one in replies if one.to == "driver")
    assert talker.say("parked")[-1].key == "says.alarm_smoke"


def test_a_strap_that_comes_loose_on_the_road_is_an_alarm() -> None:
    keys = [one.key for one in told(*ON_THE_ROAD).say("strap came loose")]
    assert keys == ["says.rolling_untied", "says.rolling_told"]


def test_it_is_asked_again_after_an_interruption() -> None:
    talker = told(*HOOK, "venting")
    keys = [one.key for one in talker.reboot()]
    assert keys[-2:] == ["says.resume", "says.alarm_smoke"]
    talker.say("stop")
    assert talker.say("resume")[-1].key == "says.alarm_smoke"


def test_unanswered_it_goes_to_dispatch() -> None:
    talker = told(*HOOK, "venting")
    assert "says.silent_told" in {one.key for one in talker.wait(130)}


def test_a_dispatcher_s_words_are_asked_of_the_driver() -> None:
    replies = told(*HOOK).say("customer says it's leaking", who=DISPATCHER)
    assert "says.alarm_smoke" in {one.key for one in replies if one.to == "driver"}


def test_a_place_with_such_a_name_is_taken_once_nobody_sees_danger() -> None:
    talker = told("new job breakdown", "Smelly Bend mile 3")
    assert kind_of(talker) == "alarm_smoke"
    talker.say("none")
    assert talker.job.value("place") == "Smelly Bend mile 3"


def test_another_alarm_while_one_is_open_is_taken_as_there() -> None:
    talker = told(*HOOK, "venting")
    talker.say("now the line is fraying")
    assert "says.loose" in {one.key for one in talker.replies}
    assert kind_of(talker) == "alarm_smoke", "the first is still asked"


def test_an_act_taken_back_counts_beside_the_alarm() -> None:
    found = meant("the hook let go")
    assert found == (Undid("hooked"), Alarm("moving"))


def test_its_own_answers_are_its_own() -> None:
    for said, _word in WORST.values():
        talker = told(*HOOK, said)
        answer = talker.replies[-1].answer
        assert [Chosen(one) for one, _ in answer.choices] == [
            answer.by_phrase[(label,)] for _, label in answer.choices
        ]


@pytest.mark.parametrize(("written", "word"), [("spoke", "smoke"), ("frame", "flame"),
                                               ("strapped", "trapped"), ("turning", "burning"),
                                               ("fir", "fire"), ("smoke", "smoke")])  # fmt: skip
def test_another_word_is_no_slip(written: str, word: str) -> None:
    assert not is_slip_of(written, word)


def test_no_words_raise_at_the_straps() -> None:
    """ "Straps off boss" had a meaning that nothing could apply."""
    talker = told(
        *TO_NEUTRAL, "neutral now", *TO_CLOSE[: TO_CLOSE.index("straps off")], "straps off boss"
    )
    assert talker.job.acts["strap.left_front"] == "off"


# Danger that was none


MISTAKEN = (
    "no danger, that was my flare", "false alarm", "that was just my flare", "my mistake",
    "it was only dust",
)  # fmt: skip
STILL_THERE = (
    "no danger", "not danger", "it was only steam", "that's just steam", "just condensation",
    "it's not a fire", "no smoke now",
)  # fmt: skip
"""A battery vents what looks like steam, and a sign may be gone for a moment: no way back."""


@pytest.mark.parametrize("said", MISTAKEN)
def test_a_danger_that_was_none_is_looked_at_again_once(said: str) -> None:
    talker = told(*TIGHT, "smoke")
    assert talker.say(said)[-1].key == "says.alarm_smoke"
    assert talker.job.acts["danger"] == "seen", "until somebody has looked"
    replies = talker.say("none")
    assert talker.job.acts["danger"] == "none"
    assert talker.job.value("danger") == "none"
    assert "says.danger_mistaken_told" in {one.key for one in replies if one.to == "dispatchers"}
    assert open_item(talker) == "scene.people", "who is where is not known any more"


@pytest.mark.parametrize("said", STILL_THERE)
def test_steam_and_a_bare_denial_leave_the_danger(said: str) -> None:
    talker = told(*TIGHT, "smoke", said, "none")
    assert talker.job.acts["danger"] == "seen"


@pytest.mark.parametrize("answer", ["danger", "not sure", "yes", "it smells"])
def test_a_second_look_that_finds_danger_leaves_it(answer: str) -> None:
    talker = told(*TIGHT, "smoke", "false alarm", answer)
    assert talker.job.acts["danger"] == "seen"
    assert open_item(talker) == "danger.people"


def test_only_who_saw_it_takes_it_back() -> None:
    talker = told(*TIGHT)
    talker.say("smoke", who=DISPATCHER)
    assert talker.say("false alarm")[0].key == "says.danger_stays"
    assert talker.job.acts["danger"] == "seen"


def test_once_the_fire_service_is_called_only_it_releases() -> None:
    talker = told(*TIGHT, "smoke", "away", "called")
    assert talker.say("false alarm")[0].key == "says.danger_stays"


def test_a_false_alarm_without_danger_changes_nothing() -> None:
    talker = told(*HOOK)
    before = talker.job.acts
    talker.say("false alarm")
    assert talker.job.acts == before


def test_a_false_alarm_answers_the_question_too() -> None:
    talker = told(*HOOK, "it's hot", "no danger that was my flare")
    assert (kind_of(talker), talker.job.acts["danger"]) == ("", "none")


def test_a_false_alarm_beside_a_sign_is_danger() -> None:
    assert isinstance(meant("false alarm, no wait there's smoke")[0], Danger)


# More of it while danger is open


@pytest.mark.parametrize(
    "said", ["now it's popping", "hissing too", "there's fire now", "smells weird", "smoke again"]
)
def test_a_sign_said_while_danger_is_open_begins_its_steps_again(said: str) -> None:
    talker = told(*TIGHT, "smoke", "away")
    first, seen = talker.job.danger_at, talker.job.facts["danger"].seq
    replies = talker.say(said)
    assert [one.key for one in replies if one.to == "dispatchers"] == ["says.danger_more_told"]
    assert talker.job.facts["danger"].seq > seen, "in the record"
    assert talker.job.danger_at is not None
    assert first is not None
    assert talker.job.danger_at.mono_ns > first.mono_ns, "no release before it counts"
    assert open_item(talker) == "danger.people"


@pytest.mark.parametrize("said", ["its getting hot", "it keeps ticking"])
def test_what_may_be_a_sign_is_recorded_while_danger_is_open(said: str) -> None:
    talker = told(*TIGHT, "smoke", "away")
    seen = talker.job.facts["danger"].seq
    replies = talker.say(said)
    assert [one.key for one in replies if one.to == "dispatchers"] == ["says.danger_more_told"]
    assert talker.job.facts["danger"].seq > seen, "in the record"
    assert open_item(talker) == "danger.call", "and its steps go on"


def test_a_sign_takes_back_the_release_in_hand() -> None:
    talker = told(*TIGHT, "smoke", "away", "called", "county fire")
    talker.say("now it's popping", "yes")
    assert talker.job.value("released_by") is None
    talker.say("away", "county fire", "yes")
    assert talker.job.value("released_by") == "county fire"
    talker.say("smoke again")
    assert talker.job.value("released_by") is None


@pytest.mark.parametrize("said", ["no smoke now", "no fire", "fire service called", "county fire"])
def test_words_without_a_sign_are_no_more_of_it(said: str) -> None:
    talker = told(*TIGHT, "smoke", "away", "called")
    seen = talker.job.facts["danger"].seq
    talker.say(said)
    assert talker.job.facts["danger"].seq == seen
