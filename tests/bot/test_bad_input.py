"""What people say wrong: a clear sentence, nothing applied, nothing lost."""

from pathlib import Path

import pytest

from bot.record.reader import open_reader
from tests.bot.scripted import TO_NEUTRAL, Line, Run, Script, chains, entries, play, run_here

# What may be said instead of an answer: none of it settles or records anything.
NO_ANSWERS = {
    "empty": "",
    "blank": "   ",
    "marks": "?!... --- ,,,",
    "100 kB of words": "chocks and straps " * 5556,
    "100 kB without a space": "x" * 100_000,
    "a zero": "be\x00hi\x07nd\x1b[31m\x7f",
    "half a character": "\ud83d\udc00 \ud800",
    "an emoji": "\N{THUMBS UP SIGN}",
    "bidi marks": "\u202e\u200b\u2066 dniheb",
    "Spanish": "La gente está detrás de la barrera",
    "Chinese": "人都在护栏后面",
    "Arabic": "الناس خلف الحاجز",
    "a negative": "they are not behind",
    "an ok": "ok",
    "a word that is near": "xbehind",
    "markup": "<b>behind?</b><script>alert(1)</script>",
    "a query": "'; DROP TABLE journal; --",
    "a placeholder": "{choices_spoken} %s {0}",
}  # fmt: skip
# Weights that cannot be, or cannot be told: none may become a fact.
NO_WEIGHTS = {
    "negative": "it weighs -4600 lb",
    "negative in words": "it weighs minus forty six hundred pounds",
    "zero": "it weighs 0 lb",
    "in words": "it weighs zero pounds",
    "ten times too big": "it weighs 46000 lb",
    "beyond all": "it weighs 9" + "9" * 400 + " lb",
    "of another dimension": "it weighs 4600 volts",
    "of no unit known": "it weighs 4600 furlongs",
    "in feet": "it weighs 13 ft",
    "infinite": "it weighs inf lb",
    "no number": "it weighs nan kg",
    "two readings": "it weighs twenty five nine pounds",
}
AT_PEOPLE = TO_NEUTRAL[:3]


@pytest.fixture
def here(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Run:
    return run_here(tmp_path / "typed", capsys, monkeypatch)


def assert_unmoved(folder: Path, said: int) -> None:
    """Everything that was said is in the record; no act was done, no weight became known."""
    found = entries(folder, 1)
    assert [entry["kind"] for entry in found].count("heard") == said
    assert not [entry for entry in found if entry["kind"] in {"act", "refused", "concluded"}]
    assert {entry["body"]["name"] for entry in found if entry["kind"] == "fact"} == {
        "history", "place", "danger",
        "destination", "takes_it", "asked_by", "emergency", "owner_contact", "plate",
    }  # fmt: skip
    chains(folder)


# What is said.


def test_what_is_no_answer_is_answered_recorded_and_settles_nothing_in_lines(
    tmp_path: Path,
) -> None:
    script = Script().say(*AT_PEOPLE, *NO_ANSWERS.values())
    for turn in play(tmp_path, script)[3:]:
        assert turn[-1]["spoken"]
        assert (turn[-1]["item"], turn[-1]["expects"]["kind"]) == ("scene.people", "state")
        assert all(len(line["spoken"]) < 120 for line in turn), "not echoed at length"
    assert_unmoved(tmp_path, len(script.lines))
    texts = [body["text"]["value"] for body in heard(tmp_path)]
    assert texts[3 + list(NO_ANSWERS).index("100 kB without a space")] == "x" * 100_000
    assert texts[3 + list(NO_ANSWERS).index("Chinese")] == NO_ANSWERS["Chinese"]


@pytest.mark.parametrize("said", NO_WEIGHTS.values(), ids=NO_WEIGHTS)
def test_a_weight_that_cannot_be_is_asked_again_and_is_no_fact(said: str, tmp_path: Path) -> None:
    script = Script().say(*AT_PEOPLE, said, "yes")
    *_, asked, _ = play(tmp_path, script)
    assert asked[-1]["spoken"]
    assert asked[-1]["expects"]["kind"] != "yes_no", "nothing to say yes to"
    assert_unmoved(tmp_path, len(script.lines))


@pytest.mark.parametrize(
    ("said", "pounds", "priority"),
    [
        # 2,100 kg are 4,629.7 lb: 1 lb is 0.453 592 37 kg, NIST SP 811 appendix B.
        ("it weighs 2100 kg", 4630, "reply"),
        # Ten times a weight of the usual range is questioned.
        ("it weighs 15000 lb", 15_000, "check"),
        ("it weighs 600 lb", 600, "check"),
    ],
)
def test_an_unusual_weight_or_unit_is_read_back_before_it_counts(
    said: str, pounds: int, priority: str, tmp_path: Path
) -> None:
    *_, asked, no = play(tmp_path, Script().say(*AT_PEOPLE, said, "no"))
    assert (asked[-1]["expects"]["kind"], asked[-1]["priority"]) == ("yes_no", priority)
    assert str(pounds) in asked[-1]["shown"].replace(",", "")
    assert no[-1]["expects"]["kind"] == "quantity"
    assert_unmoved(tmp_path, 5)


def heard(folder: Path) -> list[Line]:
    return [entry["body"] for entry in entries(folder, 1) if entry["kind"] == "heard"]


def test_what_is_no_answer_settles_nothing_in_talk(here: Run, tmp_path: Path) -> None:
    # A terminal's own sequences are dropped in talk, so that one says "behind" there.
    answers = (text for name, text in NO_ANSWERS.items() if name != "a zero")
    said = [*answers, *NO_WEIGHTS.values()]
    typed = "\n".join([*AT_PEOPLE, *(text for pair in zip(said, said, strict=True)
                                     for text in (pair[0], "repeat"))])  # fmt: skip
    status, out, err = here("talk", tmp_path / "data", given=typed)
    assert (status, err) == (0, "")
    assert "Traceback" not in out
    assert_unmoved(tmp_path / "data", 3 + 2 * len(said))
    assert here("verify", tmp_path / "data")[0] == 0


@pytest.mark.parametrize("who", ["nobody", "boss:sam", "driver:", "driver:  ", ":sam", ""])
def test_a_speaker_that_cannot_be_is_refused_and_stops_nothing(
    who: str, here: Run, tmp_path: Path
) -> None:
    typed = f"new job crash\n@{who} hello\nmile 4\n"
    status, out, err = here("talk", tmp_path / "data", given=typed)
    assert (status, err) == (0, "")
    assert "driver:NAME" in out
    status, out, _ = here("talk", tmp_path / "data", given="none\n")
    assert status == 0
    assert "scene" in here("status", tmp_path / "data")[1].lower()
    with open_reader(tmp_path / "data") as reader:
        assert reader.unfinished() == []


@pytest.mark.parametrize("who", ["nobody", "driver:", "owner"])
def test_talking_as_nobody_is_refused(who: str, here: Run, tmp_path: Path) -> None:
    typed = "new job crash\n"
    _, out, err = here("talk", tmp_path / "data", "--as", who, given=typed)
    assert "driver:NAME" in out + err
    assert here("talk", tmp_path / "data", given=typed)[0] == 0
