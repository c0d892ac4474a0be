"""Every message keeps the rules of talking: with the worst values, and in whole conversations."""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import chain, product

from bot.commands.demo import UNIT_S, conversation, names, parse
from flows.job.events import Heard, Media, Person, Position, Told
from flows.job.facts import Fact
from flows.job.state import Pending
from flows.telling.render import render
from flows.telling.reply import Reply
from flows.texts import sentences
from flows.texts.plainness import words
from tests.flows import worst
from tests.flows.lint import Finding, lint_reply
from tests.flows.talker import (
    DISPATCHER,
    DRIVER,
    OTHER_DRIVER,
    OWNER,
    PLACE,
    TO_CLOSE,
    TO_NEUTRAL,
    Talker,
    demo_library,
)

KEPT = {
    (
        "items.cord.pull",
        "plain sentence",
    ): "release and travel, as the card says both, in one sentence",
    ("says.keep_off_part", "plain sentence"): "places that tear, as the card names them",
    ("says.echo", "plain sentence"): "a list of what was said, in the words of its answers",
    ("says.unclear_2", "plain sentence"): "it lists up to five choices",
}
"""Findings of level Q that stay, each with its reason."""


def by_level(replies: Iterator[Reply]) -> dict[str, dict[tuple[str, str], Finding]]:
    found: dict[str, dict[tuple[str, str], Finding]] = {"S": {}, "Q": {}}
    for reply in replies:
        for one in lint_reply(reply):
            found[one.level][reply.key, one.rule] = one
    return found


def of_level(level: str, replies: Iterator[Reply]) -> dict[tuple[str, str], Finding]:
    return by_level(replies)[level]


# The worst that can be in a sentence


@cache
def worst_replies() -> tuple[Reply, ...]:
    return tuple(worst.replies())


def test_the_worst_keeps_every_safety_rule_and_is_short_enough_to_read() -> None:
    """Also the flaws, but for plain sentences: made-up words have none."""
    found = by_level(iter(worst_replies()))
    assert found["S"] == {}
    flaws = {at: one for at, one in found["Q"].items() if at[1] != "plain sentence"}
    assert {at: one for at, one in flaws.items() if at not in KEPT} == {}
    kept = {at for at in KEPT if at[1] != "plain sentence"}
    assert kept - flaws.keys() == set(), "mended: take it out"


def test_the_worst_reaches_the_limits() -> None:
    """The values are the worst indeed: some message speaks 16 tokens, some 20."""
    tokens = [len(words(render(reply).spoken)) for reply in worst_replies()]
    assert 20 in tokens
    assert 16 in [
        len(words(render(reply).spoken))
        for reply in worst_replies()
        if reply.key.startswith("items.")
    ]
    assert max(len(reply.answer.choices) for reply in worst_replies()) == 5


# Every message with the demonstration's cards


def plain_replies() -> Iterator[Reply]:
    """Yield every message with each of the demonstration's cards, and with none."""
    library = demo_library()
    talker = Talker(library)
    talker.say(*TO_NEUTRAL)
    pending = Pending("read_back", "weight", 4600)
    for card in (*library.vehicles, "none"):
        facts = {**talker.job.facts, "card": Fact(card, "typed", "p1", 1)}
        job = replace(talker.job, facts=facts, pending=pending)
        for item in job.book.routine.items.values():
            yield from worst.item_replies(job, item)
        for key in sentences()["says"]:
            yield from worst.says_replies(job, key)


def test_messages_are_plain_and_keep_every_safety_rule() -> None:
    levels = by_level(plain_replies())
    assert levels["S"] == {}
    found = levels["Q"]
    assert {at: one for at, one in found.items() if at not in KEPT} == {}
    kept = {at for at in KEPT if at[1] == "plain sentence"}
    assert kept - found.keys() == set(), "mended: take it out"


# Conversations


def recorded(name: str) -> Talker:
    """Play a recorded conversation in the flows alone."""
    talker = Talker(demo_library())
    people: dict[str, Person] = {}
    for step in parse(conversation(name)):
        role, _, who = step.chat.partition(":")
        person = people.setdefault(step.chat, Person(who, role))  # type: ignore[arg-type]
        if step.kind == ">":
            # A driver who names the job of a dispatcher takes it over.
            talker.say("take over" if step.text == "job 1" else step.text, who=person)
        elif step.kind == "~" and step.text[:-1].isdecimal():
            talker.wait(int(step.text[:-1]) * UNIT_S[step.text[-1]])
        elif step.kind == "+":
            for _ in range(int(step.text.split()[0])):
                talker.happens(Heard(person, talker.at, media=A_PHOTO))
        elif step.kind == "~":
            talker.reboot()
    return talker


A_PHOTO = Media("photo", "0" * 64, 9, "image/jpeg")
SCENE = (
    "new job breakdown",
    PLACE,
    "none",
    "behind",
    "secured",
    "warned",
    "chocked",
    "too dark",
    "level",
    "it wakes",
)
SKATED = (*TO_NEUTRAL[:-7], "locked", "skates", "understood", "hooked", "away", "tight",
          "skates under")  # fmt: skip
UNSKIPPED = tuple(text for text in TO_NEUTRAL if text != "warned")
WAYS: dict[str, tuple[str, ...]] = {
    "danger": ("new job", "smoke", "away", "called", "pulled the release", "county fire",
               "yes", "released", "released at 23 59", "released an hour ago",
               "released now", "breakdown", "mile 9"),
    "danger, nobody comes": ("new job", "fire", "away", "called", "hand off", "cannot",
                             "nobody came", "the owner", "yes"),
    "hand off at once": ("new job", "hand off", "not sure", "no signs", "chocked", "sam", "yes",
                         "smoke", "status"),
    "the numbers": (*SCENE[:3], "numbers", "how heavy is it", "sheet", *SCENE[3:], "nose",
                    "harrow", "wren", "what helps", "heron", "secured", "level", "nose",
                    "numbers", "margin", "how heavy is it", "what helps", "sheet"),
    "uphill": ("new job crash", *SCENE[1:8], "not sure", "not sure", "nose", "wibble",
               "truck moved", "uphill", "nose", "hand off", "ann", "yes"),
    "no card": (*SCENE, "nose", "no card", "electric", "SUV", "small SUV", "front", "not sure",
                "heron", "on the dash", "can't read it", "not in", "all roll",
                "no", "sam", "yes"),
    "no card, every point shown": (*SCENE, "nose", "no card", "hybrid", "van", "not sure", "all",
                                   "heron", "no vin", "no", "yes", "yes", "hooked", "away",
                                   "tight", "go",
                                   "neutral", "now", "confirmed", "chocks out"),
    "wrong end": (*SCENE, "tail", "harrow", "heron", "no cord", "none comes", "sam", "yes"),
    "boxed in": (*SCENE, "boxed in", "harrow", "heron", "no cord", "all roll", "sam", "yes"),
    "boxed in, and neither end is reached": (
        *SCENE, "boxed in", "whimbrel", "heron", "no cord", "Mallet", "neither", "neither"),
    "locked wheel": (*SCENE, "nose", "harrow", "heron", "no cord", "locked", "none", "sam", "yes"),
    "not ready": (*TO_NEUTRAL[:-2], "off", "none", "sam", "yes"),
    "skates under the locked wheel alone": (*SKATED, "off", "all four"),
    "skates under the locked wheel, dark at the drop": (
        *SKATED, "on", "go", "neutral now", *TO_CLOSE[:11], "stowed", *TO_CLOSE[11:18], "off",
        "hooked", "away", "tight", "all four"),
    "a crash with one hot point": (
        "new job crash", *SCENE[1:], "nose", "harrow", "heron", "not in", "all roll", "sound",
        *TO_NEUTRAL[-6:], "neutral now", *TO_CLOSE[:13], "air 47 ground 49 pack 70 72 70 95"),
    "dollies that are too weak": (*TO_NEUTRAL[:-2], "off", "dollies", "it weighs 8500 pounds",
                                  "yes", "sam", "yes"),
    "lifted by the nose": (*SCENE, "nose", "whimbrel", "heron", "no cord", "Mallet", "set", "away",
                           "go", "lifted", "wheels strapped", "dollies under", "dollies strapped",
                           "chocks out", "a strap came off", "chocked"),
    "asked on the road": (*TO_NEUTRAL, "neutral now", *TO_CLOSE[:13], "go", "wibble", "wobble",
                          "how high am i"),
    "the height before there is one": ("new job", "how high is it"),
    "left in neutral": (*TO_NEUTRAL, "neutral now", "confirmed", "chocks out", "away", "go",
                        "on deck", "pulled over", "parked"),
    "the wrong end, seen while it is pulled": (
        *TO_NEUTRAL, "neutral now", *TO_CLOSE[:4], "tail first", "stopped", "chocked", "parked",
        "slack", "line off", "none comes"),
    "lifted at the drop": (*TO_NEUTRAL, "neutral now", *TO_CLOSE[:-6], "nose lifted",
                           "dollies under", "dollies out", "down"),
    "no hold known": (*SCENE, "nose", "dunlin", "heron", "all roll", "understood", "hooked",
                      "away", "tight", "go", "how long", "neutral now"),
    "crash and a stuck cord": (
        "new job crash", *SCENE[1:], "nose", "harrow", "heron", "stuck", "ended", "done", "no",
        "ajar", "opened", "pinned", "go", "pulled", "out", "tagged"),
    "a crash and two disconnects": (
        "new job crash", *SCENE[1:], "nose", "fieldfare", "godwit", "stuck", "ended", "done", "no",
        "ajar", "covers off", "opened", "pinned", "opened", "pinned", "waited", "plug is out",
        "tagged", "tagged", "refitted"),
    "plugged in after all": (*TO_NEUTRAL, "neutral now", *TO_CLOSE[:4], "cord is stuck", "stopped",
                             "parked"),
    "shut, and the key does nothing": (
        *SCENE[:-1], "nose", "harrow", "heron", "not sure", "not sure", "not sure", "dead", "no",
        "sam", "yes"),
    "dead, and a phone is the key": (
        *SCENE[:-1], "nose", "corncrake", "pickup", "not sure", "rear", "godwit", "stays dead",
        "phone", "on the line", "9.8 volts", "lead acid", "yes", "pack", "red on", "ground on",
        "pack on", "waited"),
    "dead, and a vehicle boosts it": (
        *SCENE[:-1], "nose", "fieldfare", "godwit", "stays dead", "here", "weak", "my truck",
        "red on", "donor red on", "donor black on", "ground on", "waited"),
    "too heavy": (*SCENE, "nose", "harrow", "13000 pounds", "yes", "wren", "wibble", "hand off",
                  "chocked", "sam", "yes"),
    "too heavy and the owner decides": (*SCENE, "nose", "harrow", "13000 pounds", "yes", "wren",
                                        "@owner override it is two miles"),
    "close to the limit": (*SCENE, "nose", "harrow", "wren", "nothing", "yes", "@owner override",
                           "@owner override it is two miles", "not in", "wibble"),
    "too heavy when aboard": (*TO_NEUTRAL, "neutral now", *TO_CLOSE[:5], "19000 pounds", "yes",
                              "hand off", "sam", "yes"),
    "a step skipped": (*UNSKIPPED[:5], "skip", "no", "not possible here", *UNSKIPPED[5:],
                       "neutral now", *TO_CLOSE, "@owner override it is late",
                       "@owner settle cones were out", "@owner settle once more", "close", "fire"),
    "numbers": (*TO_NEUTRAL[:-2], "twenty five nine pounds", "90000 pounds", "300 pounds",
                "6400 pounds", "no", "6500 pounds", "no", "14000 pounds", "yes"),
    "a time ahead": (*TO_NEUTRAL, "neutral at 23 59", "neutral now", "how long", "back", "yes",
                     "back", "no", "stopped"),
    "it comes loose": (*TO_NEUTRAL, "neutral now", *TO_CLOSE[:4], "xyz", "xyz", "xyz",
                       "a strap came off", "it is rolling", "stopped", "chocked"),
    "somebody in the path": (*TO_NEUTRAL, "neutral now", *TO_CLOSE[:4], "a kid behind it",
                             "stopped", "behind", "away"),
    "the chock slips, the brake fails": (*TO_NEUTRAL, "the chock slipped", "chocked", "secured",
                                         "the brake failed", "chocked", "secured", "away"),
    "the winch does not stop": (*TO_NEUTRAL, "neutral now", *TO_CLOSE[:4], "it won't stop",
                                "stopped", "chocked", "the truck is rolling", "i moved the truck"),
    "somebody is hurt": (*TO_NEUTRAL, "i am hurt", "resume"),
    "a size, a range, a sum": (*SCENE, "nose", "no card", "electric", "compact", "over 4600 lb",
                               "no", "4600 lb plus 300 lb", "6000 to 6500 lb", "yes"),
    "close and weighed": (*SCENE, "nose", "harrow", "wren", "90000 pounds", "nothing", "yes",
                          "weigh it", "3400 pounds", "yes"),
    "too far for the hold": (*SCENE[:-1], "nose", "corncrake", "1M8GDM9AXKP042788",
                             "1M8GDM9AXKP042789", "midsize pickup", "all", "godwit", "yes",
                             "not in", "wibble", "90 feet", "yes", "why not", "truck moved"),
    "a block once the line is on": (*SCENE[:-1], "nose", "corncrake", "midsize pickup", "all",
                                    "godwit", "yes", "not in", "45 feet", "yes", "all roll",
                                    "understood", "hooked", "with a block"),
    "the mud named late": (*TO_NEUTRAL[:-4], "it is in the mud", "downhill",
                           "it weighs 6000 pounds", "yes", "no"),
    "too heavy for one line": (*SCENE[:-1], "nose", "dunlin", "wren", "stuck in the mud", "yes",
                               "it weighs 4200 pounds", "yes", "no", "with a block"),
    "too heavy downhill": (*SCENE[:-1], "downhill", "it is in the mud", "nose", "dunlin", "wren",
                           "it wakes", "no", "why not", "with a block"),
    "a low ceiling": (*SCENE, "nose", "harrow", "wren", "ceiling is 7 feet",
                      "ceiling is 102 inches", "deck empty"),
    "a ceiling over any vehicle": (*SCENE, "nose", "no card", "electric", "suv", "compact suv",
                                   "all", "heron", "ceiling is 12 feet"),
    "many places to keep off": (*SCENE, "nose", "fieldfare", "heron", "yes", "yes", "not in",
                                "all roll", "repeat"),
    "others": (*TO_NEUTRAL, "@owner wibble", "@owner wibble", "@owner wibble",
               "@owner it weighs 4700 lb", "wrong weight", "neutral now", *TO_CLOSE[:4], "hold"),
    "a strap comes off": (*TO_NEUTRAL, "neutral now", *TO_CLOSE[:8], "a strap came off"),
    "going back": ("new job", "back", "breakdown", "back", "crash", "problem", "dispatch", "ok",
                   "xyz", "x" * 2001, "xyz", "", "mile 9", "none", "problem",
                   "cannot do it"),
}  # fmt: skip
"""Ways through the routine, besides those that are recorded; "@owner" is said by the owner."""


def said(way: tuple[str, ...]) -> Talker:
    talker = Talker(demo_library())
    for text in way:
        owner = text.startswith("@owner ")
        talker.say(text.removeprefix("@owner "), who=OWNER if owner else DRIVER)
    return talker


def on_a_way() -> Iterator[Talker]:
    yield from map(said, WAYS.values())


def turned_aside() -> Iterator[Talker]:
    """Leave the straight way at each fourth step of it."""
    way = (*TO_NEUTRAL, "neutral now", *TO_CLOSE)
    asides = ("status", "why", "help", "ok", "wibble", "not sure", "back", "hold", "skip",
              "6400 pounds", "smoke", "hand off", "stop", "lost", "settle late")  # fmt: skip
    for aside, at in product(asides, range(3, len(way), 4)):
        yield said((*way[:at], aside, "wibble", "no", "yes", "resume"))


def out_of_turn() -> Talker:
    """Photos, places, edits, answers to old questions, and others who speak."""
    talker = Talker(demo_library())
    talker.say("new job", who=DISPATCHER)
    talker.say("take over", "breakdown")
    ask = talker.job.asked.n if talker.job.asked else 0
    for heard in (
        Heard(DRIVER, talker.at, media=A_PHOTO),
        Heard(DRIVER, talker.at, media=Media("photo", ref="to come")),
        Heard(DRIVER, talker.at, media=Media("voice", "0" * 64, 9)),
        Heard(DRIVER, talker.at, text="mile 7", is_edit=True),
        Heard(DRIVER, talker.at, text="mile 7", ask=ask - 1),
        Heard(DRIVER, talker.at, position=Position(39_000_000, -105_000_000)),
    ):
        talker.happens(heard)
    talker.happens(Told("media", talker.at, next(iter(talker.job.receipts))))
    talker.say("none", "behind", "secured")
    at = talker.at
    stamped = Heard(DRIVER, at, text="warned", stamped_ms=at.wall_ms)
    talker.happens(stamped)
    talker.happens(replace(stamped, text="chocked", stamped_ms=at.wall_ms - 20_000))
    talker.say("hooked", "all wheel drive", "override", who=OTHER_DRIVER)
    return talker


def clocks() -> Iterator[Talker]:
    """The neutral window runs out on the ground, while pulling, on the deck, over a restart."""
    ways = ((), TO_CLOSE[:2], TO_CLOSE[:4], TO_CLOSE[:5])
    for way in ways:
        talker = said((*TO_NEUTRAL, "neutral now", *way))
        talker.wait(40 * 60)
        talker.happens(Told("truck_changed", talker.at))
        talker.say("take over", who=OTHER_DRIVER)
        yield talker
    talker = said((*TO_NEUTRAL, "neutral now", *TO_CLOSE[:4]))
    talker.reboot()
    yield talker


@cache
def conversations() -> tuple[Reply, ...]:
    talkers = chain(map(recorded, names()), on_a_way(), turned_aside(), (out_of_turn(),), clocks())
    return tuple(reply for talker in talkers for reply in talker.replies)


def test_conversations_keep_every_safety_rule() -> None:
    found = of_level("S", iter(conversations()))
    assert found == {}


NOT_REACHED = {
    "says.no_job": "said by the desk",
    "says.no_such_job": "said by the desk",
    "says.no_order": "said by the desk",
    "says.job_open": "said by the desk",
    "says.timer_lost": "said by the desk",
    "says.aboard_changed": "of two jobs, which the desk brings together: tests/bot/test_fleet.py",
    "says.left_aboard": "the same, after a hand-off",
    "says.media_lost_over": "a file on its way at the end: tests/bot/test_air_photos.py",
    "says.deck_is_empty": "the same, in the job that was handed off",
    "says.driver_gone_told": "a driver is shut out: tests/bot/test_air_crew.py",
    "says.defer_full": "no more than two steps can wait yet",
    "says.held_back": "said in a flood: tests/flows/test_human_factors.py",
    "says.refused": "said when the guard finds a rule broken, which exploring shows it never does",
    **dict.fromkeys(
        (
            "says.rest",
            "says.when_most",
            "says.what_hooked",
            "says.what_tight",
            "says.what_chocked",
            "says.what_neutral",
            "says.what_strapped",
            "says.who_is_away",
            "says.what_is_done",
        ),
        "asked back about an act among other words: tests/flows/test_not_an_act.py",
    ),
    **dict.fromkeys(
        (
            "says.voice_check",
            "says.voice_took",
            "says.voice_draft",
            "says.voice_again",
            "says.voice_longer",
            "says.voice_go",
            "says.voice_no_danger",
            "says.voice_empty",
            "says.voice_too_quiet",
            "says.voice_too_long",
            "says.voice_unreadable",
        ),
        "by voice: tests/flows/test_voicing.py",
    ),
    **dict.fromkeys(
        (
            "says.alarm_smoke",
            "says.alarm_people",
            "says.alarm_moving",
            "says.alarm_rolling",
            "says.danger_mistaken_told",
        ),
        "each is heard in tests/flows/test_alarms_heard.py",
    ),
    "says.voice_no_opinion": "by voice: tests/voice/test_opinion.py",
    "says.height_near": "no demo vehicle stands that high: tests/flows/test_beforehand.py",
    "says.not_left": "of two jobs, which the desk brings together: tests/bot/test_job_named.py",
    "says.news_done": "told by others of what came off: tests/flows/test_news.py",
    "says.news_undone": "told by others of what came off: tests/flows/test_news.py",
    "items.neutral.chock": "chocks taken back in a pause: tests/flows/test_disturbed.py",
    "items.drop.down": "the deck in doubt at the drop: tests/flows/test_disturbed.py",
    "items.attach.turn": "a last guard behind the turn: no way leads there, tests/explore",
    "items.drop.all": "skates in doubt at the drop: tests/explore",
    "says.plate_again": "no plate among the words: tests/flows/test_vin_said.py",
    "items.scene.down": "of what may be on the deck: tests/flows/test_order_of_acts.py",
    "items.margin.close_tied": "with the line on: tests/flows/test_order_of_acts.py",
    "says.danger_more_told": "more signs: tests/flows/test_alarms_heard.py",
    "says.read_back_uphill": "said from the truck: tests/flows/test_slope_said.py",
    "says.read_back_downhill": "the same",
    **dict.fromkeys(
        ("says.neutral_since", "says.neutral_at_least"),
        "times as they were taken: tests/flows/test_times_echoed.py",
    ),
    **dict.fromkeys(("says.likely", "says.likely_word"), "proposed: tests/flows/test_likely.py"),
    "says.not_taken": "told beside what was taken: tests/flows/test_left_out.py",
    "says.override_reason": "an override without a word after it is not understood",
}


def test_conversations_reach_every_message() -> None:
    every = {f"{table}.{key}" for table in ("items", "says") for key in sentences()[table]}
    assert every - {reply.key for reply in conversations()} <= NOT_REACHED.keys()
