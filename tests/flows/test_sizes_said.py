"""Sizes, kinds and what happened to it, in the words people have for them, early and late."""

import pytest

from flows.figures.classes import families, sizes
from flows.telling.render import render
from tests.flows.talker import TO_FAMILY, TO_MARGIN, open_item, told


@pytest.mark.parametrize(
    ("said", "size"),
    [
        ("minivan", "minivan"),
        ("a mini van", "minivan"),
        ("full size truck", "pickup_full_size"),
        ("it's a full size pickup", "pickup_full_size"),
        ("compact SUV", "suv_compact"),
        ("compact car", "car_compact"),
        ("mid size sedan", "car_midsize"),
        ("heavy duty truck", "pickup_heavy_duty"),
        ("one ton truck", "pickup_heavy_duty"),
        ("a dually", "pickup_heavy_duty"),
        ("half ton", "pickup_full_size"),
        ("convertible", "coupe_or_convertible"),
        ("cargo van", "van_full_size"),
    ],
)
def test_a_size_that_names_its_kind_answers_both(said: str, size: str) -> None:
    talker = told(*TO_FAMILY, said)
    assert talker.job.value("weight_class") == size
    assert talker.job.value("family") in {
        family.id for family in families() if size in {s.class_id for s in sizes(family.id)}
    }
    assert open_item(talker) == "vehicle.drive"


@pytest.mark.parametrize(
    ("said", "family"),
    [("big pickup", "pickup"), ("a truck", "pickup"), ("pickup truck", "pickup"),
     ("sedan", "car"), ("crossover", "suv"), ("big van", "van"), ("large SUV", "suv")],
)  # fmt: skip
def test_a_kind_is_a_kind_and_its_size_is_asked(said: str, family: str) -> None:
    talker = told(*TO_FAMILY, said)
    assert talker.job.value("family") == family
    assert open_item(talker) == "vehicle.size"


@pytest.mark.parametrize("said", ["compact", "full size", "midsize", "big", "it is a small one"])
def test_a_size_without_its_kind_asks_the_kind_first(said: str) -> None:
    talker = told(*TO_FAMILY)
    replies = talker.say(said)
    if said != "it is a small one":
        assert render(replies[-1]).spoken == "What kind is it? Car, SUV, pickup, or van?"
    assert talker.job.value("weight_class") is None
    assert open_item(talker) == "vehicle.family"


@pytest.mark.parametrize(
    ("kind", "said", "size"),
    [
        ("SUV", "compact", "suv_compact"),
        ("SUV", "full size", "suv_large_truck_based"),
        ("car", "compact", "car_compact"),
        ("car", "full size", "car_large"),
        ("pickup", "full size", "pickup_full_size"),
        ("pickup", "mid size", "pickup_midsize"),
        ("pickup", "one ton", "pickup_heavy_duty"),
        ("van", "full size", "van_full_size"),
        ("van", "mini", "minivan"),
        # Half ton or heavy duty: asked again.
        ("pickup", "big", None),
    ],
)
def test_a_size_is_one_of_its_kind(kind: str, said: str, size: str | None) -> None:
    assert told(*TO_FAMILY, kind, said).job.value("weight_class") == size


def test_a_size_of_another_kind_corrects_the_kind() -> None:
    job = told(*TO_FAMILY, "car", "minivan").job
    assert (job.value("family"), job.value("weight_class")) == ("van", "minivan")


@pytest.mark.parametrize(
    ("said", "history"),
    [
        ("it was in a crash", "crash"),
        ("it has been in an accident", "crash"),
        ("it got rear ended", "crash"),
        ("the airbags went off", "crash"),
        ("there was water in it", "water"),
        ("there's water in it", "water"),
        ("it was under water", "water"),
        ("there was a fire next to it", "fire"),
        ("the car next to it burned out", "fire"),
    ],
)
def test_what_happened_counts_when_it_is_said_late(said: str, history: str) -> None:
    talker = told(*TO_MARGIN, said)
    assert talker.job.value("history") == history
    assert talker.job.acts["danger"] == "none"


@pytest.mark.parametrize(
    "said",
    ["it was not in a crash", "was it in a crash?", "there is no water in it",
     "there is a fire next to it"],
)  # fmt: skip
def test_what_did_not_happen_changes_nothing(said: str) -> None:
    talker = told(*TO_MARGIN, said)
    assert talker.job.value("history") == "breakdown"
    assert (talker.job.acts["danger"] == "seen") == ("fire" in said), "a fire now is danger"


@pytest.mark.parametrize("said", ["weigh it", "we can weigh it", "let's weigh it first"])
def test_weigh_it_at_a_close_asks_for_the_weight_and_takes_it(said: str) -> None:
    talker = told(*TO_MARGIN[:-1], "wren", "nothing", "yes")
    assert talker.job.verdict == "close"
    assert talker.say(said)[0].key == "says.weigh"
    assert open_item(talker) == "margin.close"
    talker.say("3400 pounds", "yes")
    assert talker.job.verdict == "go"
