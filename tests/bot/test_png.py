"""A margin's drawing as a PNG, for a channel that cannot show SVG."""

import asyncio
import io
from pathlib import Path

import pytest
from PIL import Image

from bot.machine.png import png_of
from flows.reckoning.margin_inputs import drawing_of
from tests.flows.talker import TO_MARGIN, Talker, demo_library
from tests.standin.phones import Phones

SAM = "driver:sam"


def opened(data: bytes) -> Image.Image:
    """Open a picture with another library, which would refuse a broken picture."""
    picture = Image.open(io.BytesIO(data))
    picture.load()
    return picture


def test_the_picture_has_the_drawings_shape_and_its_black_and_white() -> None:
    talker = Talker(demo_library())
    talker.say(*TO_MARGIN)
    svg = drawing_of(talker.job)
    wide, high = map(float, svg.partition('viewBox="0 0 ')[2].partition('"')[0].split())
    picture = opened(png_of(svg.encode()))
    assert picture.format == "PNG"
    assert 900 < picture.width < 1100
    assert picture.height / picture.width == pytest.approx(high / wide, rel=0.03)
    darkest, lightest = picture.convert("L").getextrema()
    assert (darkest, lightest) == (0, 255)


def test_a_file_that_is_not_a_drawing_is_refused() -> None:
    with pytest.raises(RuntimeError):
        png_of(b"no drawing")


def test_asking_for_the_numbers_on_a_phone_shows_the_drawing(tmp_path: Path) -> None:
    async def play() -> None:
        async with Phones(tmp_path) as phones:
            for said in TO_MARGIN:
                await phones.say(SAM, said)
                await phones.wait(5)
            assert not any("photo" in one for one in phones.messages(SAM))
            await phones.say(SAM, "numbers")
            await phones.settled()
            *_, text, shown = phones.messages(SAM)
            assert "Rear axle" in text["text"]
            file = phones.platform.world.files[shown["photo"][-1]["file_id"]].data
            assert opened(file).format == "PNG"

    asyncio.run(play())
