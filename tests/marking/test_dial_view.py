"""The written dial, its angles read back from the picture."""

import doctest
import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.marking import dial_view as module
from scribeline.marking.dial_view import Dial, Window, dial_view
from scribeline.marking.svg import write_svg
from tests.marking.demonstrations import CROWDED_DIAL, KART_DIAL
from tests.marking.svg_reading import Picture, Point


def picture(dial: Dial) -> Picture:
    return Picture(write_svg(dial_view(dial)))


def crank_deg(point: Point) -> float:
    """Clockwise from straight up, on a screen whose y points down."""
    return math.degrees(math.atan2(point[0], -point[1])) % 360.0


def band(read: Picture, words: str) -> tuple[float, float, float, float]:
    """Start and end angle, inner and outer radius of a band, read from its closed outline."""
    (stroke,) = read.strokes(read.group_about(words))
    assert stroke.closed
    outer, inner = ([edge for edge in stroke.edges if edge.radius and edge.clockwise is way] for way in (True, False))
    assert all(edge.centre == pytest.approx((0.0, 0.0), abs=0.003) for edge in outer + inner)
    (inner_radius,), (outer_radius,) = ({edge.radius for edge in edges} for edges in (inner, outer))
    assert inner_radius is not None
    assert outer_radius is not None
    return crank_deg(outer[0].start), crank_deg(outer[-1].end), inner_radius, outer_radius


KART = picture(KART_DIAL)


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize("window", KART_DIAL.windows, ids=lambda window: window.name)
def test_a_band_begins_and_ends_at_its_crank_angles(window: Window) -> None:
    opens, closes, inner, outer = band(KART, f"{window.name} opens")
    assert (opens, closes) == pytest.approx((window.opens_deg_atdc, window.closes_deg_atdc), abs=0.01)
    assert inner < outer


@settings(deadline=None, max_examples=40)
@given(st.floats(0.0, 359.9), st.floats(30.0, 350.0))
def test_any_window_is_drawn_where_it_is_clockwise(opens: float, duration: float) -> None:
    dial = Dial((Window("exhaust", "exhaust", opens, (opens + duration) % 360.0),))
    read = picture(dial)
    start, end, _, _ = band(read, "exhaust opens")
    assert math.cos(math.radians(start - opens)) == pytest.approx(1.0, abs=1e-7)
    assert math.cos(math.radians(end - opens - duration)) == pytest.approx(1.0, abs=1e-7)
    (stroke,) = read.strokes(read.group_about("exhaust opens"))
    assert sum(edge.turn_deg for edge in stroke.edges if edge.clockwise) == pytest.approx(duration, abs=0.01)


def test_bands_lie_inside_each_other() -> None:
    rings = [band(picture(CROWDED_DIAL), f"{window.name} opens")[2:] for window in CROWDED_DIAL.windows]
    assert all(inner > next_outer for (inner, _), (_, next_outer) in pairwise(rings))


def test_the_blowdown_lasts_from_exhaust_to_transfer() -> None:
    opens, closes, _, _ = band(KART, "blowdown")
    assert (opens, closes) == pytest.approx((89.0, 111.9), abs=0.01)
    assert "22.9°" in KART.words


def test_the_blowdown_begins_with_the_earliest_exhaust_and_ends_with_the_earliest_transfer() -> None:
    assert CROWDED_DIAL.blowdown_deg_atdc == (82.0, 113.0)


@pytest.mark.parametrize("transfer_opens", [89.0, 80.0])
def test_without_blowdown_none_is_drawn(transfer_opens: float) -> None:
    windows = (KART_DIAL.windows[0], Window("transfer", "transfer", transfer_opens, 250.0))
    dial = Dial(windows)
    assert dial.blowdown_deg_atdc is None
    assert "blowdown" not in picture(dial).words
    assert "lowdown" not in dial_view(dial).description


def test_dead_centres_ignition_and_degrees_are_written() -> None:
    words = KART.words
    assert {"TDC", "BDC", "89.0°", "271.4°", "111.9°", "248.7°", "281.5°", "78.5°"} <= set(words)
    assert {"182°", "137°", "157°"} <= set(words)  # durations
    assert words[words.index("ignition") :][:4] == ["ignition", "18.0°", "before", "TDC"]


def test_the_ignition_is_marked_at_its_angle() -> None:
    (ray,) = KART.strokes(KART.group_about("ignition"))
    assert [crank_deg(point) for point in ray.samples] == pytest.approx([342.0, 342.0], abs=0.01)


def test_without_ignition_none_is_drawn() -> None:
    dial = replace(KART_DIAL, ignition_deg_btdc=None)
    assert "ignition" not in picture(dial).words
    assert "gnition" not in dial_view(dial).description


def test_bottom_dead_centre_is_where_the_offset_puts_it() -> None:
    (mark,) = [
        stroke
        for one in KART.groups("outline")
        for stroke in KART.strokes(one)
        if 170.0 < crank_deg(stroke.edges[0].end) < 190.0
    ]
    assert crank_deg(mark.edges[0].end) == pytest.approx(180.4, abs=0.01)


@pytest.mark.parametrize("dial", [KART_DIAL, CROWDED_DIAL], ids=["kart", "crowded"])
def test_lettering_is_readable_on_a_phone(dial: Dial) -> None:
    """At 360 px of width: labels 11 px at least; the least any lettering has is 8 px."""
    read = picture(dial)
    px_per_mm = 360.0 / read.view[2]
    sizes = {one.words: one.size * px_per_mm for one in read.lettering}
    assert min(sizes.values()) >= 8.0
    assert all(sizes[words] >= 11.0 for words in ("TDC", "ignition", "closes"))


def test_the_words_for_those_who_cannot_see_it_give_every_angle() -> None:
    description = dial_view(KART_DIAL).description
    for words in ("exhaust opens 89.0° and closes 271.4°", "open for 182.4°", "Blowdown lasts 22.9°", "18.0° before"):
        assert words in description
