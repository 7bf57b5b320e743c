"""The build card: inside its frame, light and dark, with or without paper, as SVG and PNG of the right size."""

import doctest
import struct
from dataclasses import replace

import numpy as np
import pytest

from scribeline.marking import build_card as module
from scribeline.marking.build_card import BuildCard, Row, build_card
from scribeline.marking.drafting import bounds, text_box
from scribeline.marking.png import write_png
from scribeline.marking.shapes import Text
from scribeline.marking.svg import write_picture
from tests.marking.demonstrations import CROWDED_BORE, KART_BORE, KART_DIAL

NAMES = ("exhaust", "transfer", "intake", "blowdown", "squish gap", "compression", "a name too long for its cell, much")
ROWS = tuple(Row(name, "179.5°", "184.1°") for name in NAMES)
TARGET = replace(KART_BORE.ports[0], roof_depth_mm=28.0)
CARD = BuildCard(
    "An engine with rather a long name, number 2", "50 x 50 mm, 98.2 cc", ("as it was", "planned"), ROWS,
    replace(KART_BORE, planned=(TARGET, *KART_BORE.ports[1:])), KART_DIAL.windows, KART_DIAL.windows, "Record 0a1b.",
)  # fmt: skip
CARDS = {
    "wide": CARD,
    "square": replace(CARD, square=True),
    "crowded": replace(CARD, bore=CROWDED_BORE, planned=()),
    "bare": replace(CARD, bore=None, windows=(), planned=(), rows=()),
}


def picture(png: bytes) -> np.ndarray:  # type: ignore[type-arg]
    import cv2

    return cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_UNCHANGED)  # type: ignore[return-value]


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize("name", CARDS)
def test_everything_is_inside_and_no_words_lie_on_others(name: str) -> None:
    card = CARDS[name]
    drawing = build_card(card)
    box = bounds(drawing.groups)
    assert box.left >= 0
    assert box.bottom >= 0
    assert box.right <= card.size[0]
    assert box.top <= card.size[1]
    boxes = [text_box(shape) for one in drawing.groups for shape in one.shapes if isinstance(shape, Text)]
    assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[i + 1 :])


def test_it_says_that_it_is_no_template() -> None:
    words = [shape.words for one in build_card(CARD).groups for shape in one.shapes if isinstance(shape, Text)]
    assert any("no template" in one for one in words)


@pytest.mark.parametrize(("square", "size"), [(False, (1920, 1080)), (True, (1080, 1080))])
def test_the_png_has_the_size_that_is_asked_for(square: bool, size: tuple[int, int]) -> None:
    card = replace(CARD, square=square)
    png = write_png(write_picture(build_card(card), *card.size), width_px=10 * round(card.size[0]), background=None)
    assert struct.unpack(">II", png[16:24]) == size


def test_dark_is_dark_light_is_light_and_transparent_has_no_paper() -> None:
    corner = {}
    for name, ways in {
        "light": {}, "dark": {"dark": True}, "clear": {"transparent": True}, "clear dark": {"transparent": True,
                                                                                          "dark": True},
    }.items():  # fmt: skip
        pixels = picture(write_png(write_picture(build_card(CARD), *CARD.size, **ways), width_px=480, background=None))
        corner[name] = pixels[2, 2]
        if name.startswith("clear"):
            # the title's ink is light on what will be dark, and dark on what will be light
            title = pixels[10:36, 17:200]
            ink = title[title[..., 3] > 250][:, :3].astype(float).mean()
            assert (ink > 128) == ("dark" in name)
    assert corner["light"][:3].min() > 230
    assert corner["dark"][:3].max() < 60
    assert corner["light"][3] == corner["dark"][3] == 255
    assert corner["clear"][3] == 0
