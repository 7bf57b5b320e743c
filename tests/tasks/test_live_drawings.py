"""The page's drawings: places to hold lie on the drawn edges, marks at the angles, moving parts keep together."""

import math
import re
import tomllib
from typing import Any
from xml.etree.ElementTree import Element

import pytest

from scribeline.marking.svg import write_svg
from scribeline.tasks.drawings import engine_drawings
from scribeline.tasks.live_drawings import (
    DRAWINGS,
    draw,
    edge_in_words,
    grip,
    measured_how,
    opening_deg,
    port_named,
    side_by_side,
    turning,
)
from scribeline.tasks.work_out_view import Bench, bench_of, edges
from tests.examples import KART, REED, SOUND, text_of
from tests.marking.svg_reading import NAMESPACE, Picture


def bench(name: str = KART, as_if: dict[str, Any] | None = None) -> Bench:
    return bench_of({"record": tomllib.loads(text_of(name)), "as_if": as_if or {}}, plus_minus=False)


def about(picture: Picture, words: str) -> list[Element]:
    """Groups whose words begin so."""
    return [
        one for one in picture.root.iter(f"{NAMESPACE}g") if (one.findtext(f"{NAMESPACE}title") or "").startswith(words)
    ]


def svg(shown: Bench, name: str) -> str:
    drawing = draw(shown, name)
    assert not isinstance(drawing, str)
    return write_svg(drawing)


@pytest.mark.parametrize("name", SOUND)
@pytest.mark.parametrize("drawing", DRAWINGS)
def test_everything_is_drawn_of_the_demonstration_engines(name: str, drawing: str) -> None:
    assert "<svg" in svg(bench(name), drawing)


@pytest.mark.parametrize("name", SOUND)
def test_the_places_to_hold_lie_on_the_drawn_edges(name: str) -> None:
    """Percent of the drawing against the outlines as written in it, read back in millimetres."""
    shown = bench(name)
    picture = Picture(svg(shown, "bore"))
    left, top, width, height = (float(one) for one in picture.root.get("viewBox", "").split())
    held = grip(shown)
    assert held is not None
    assert held.wide_mm == pytest.approx(width, abs=1e-3)
    for one in (one for one in held.edges if one.chief):
        x = left + width * (one.left + one.right) / 200.0
        boxes = [stroke.box for part in about(picture, f"{one.travel.port}, at") for stroke in picture.strokes(part)]
        over = [box for box in boxes if box[0] < x < box[2]]
        assert over, one.travel.port
        assert min(box[0] for box in over) == pytest.approx(left + width * one.left / 100.0, abs=0.01)
        assert min(box[1] for box in over) == pytest.approx(top + height * one.top / 100.0, abs=0.01)
        assert max(box[3] for box in over) == pytest.approx(top + height * one.bottom / 100.0, abs=0.01)


def test_each_edge_has_one_chief_place_and_a_pair_its_mirror_image() -> None:
    shown = bench()
    held = grip(shown)
    assert held is not None
    chief = [(one.travel.port, one.travel.side) for one in held.edges if one.chief]
    assert chief == [(one.port, one.side) for one in edges(shown)]
    assert sum(one.travel.port == "main transfer" for one in held.edges) == 6


def test_an_edge_says_where_it_is_and_what_it_does() -> None:
    shown = bench(as_if={"exhaust": {"roof_mm": 1.0}})
    roof = next(one for one in edges(shown) if (one.port, one.side) == ("exhaust", "roof"))
    assert edge_in_words(shown, roof) == (
        "28.10 mm below the deck, opens 88.0° after top dead centre, 1.00 mm higher than measured"
    )
    floor = next(one for one in edges(shown) if (one.port, one.side) == ("intake", "floor"))
    assert edge_in_words(shown, floor) == "74.40 mm below the deck, opens 75.6° before top dead centre"
    assert measured_how(shown, "exhaust", "roof") == (
        "Measured: roof from deck 29.10 mm, roof opens 92.5°, roof closes 271.5°"
    )


def test_what_was_measured_stays_in_sight_under_what_is_shown() -> None:
    moved = bench(as_if={"exhaust": {"roof_mm": 1.0}})
    assert "as measured: exhaust" in svg(moved, "bore")
    assert "exhaust as measured" in svg(moved, "areas")
    assert "transfer as measured" not in svg(moved, "areas")
    assert "as measured" not in svg(bench(), "bore") + svg(bench(), "areas")


def test_the_crank_stops_at_what_opens_and_closes() -> None:
    shown = bench()
    told = turning(shown)
    assert told is not None
    assert told.areas is not None
    assert shown.now is not None
    marks = {words: deg for deg, words in told.marks}
    assert marks["exhaust opens"] == pytest.approx(shown.now.values["exhaust_opens_deg_atdc"].value, abs=0.005)
    assert marks["top dead centre"] == 0.0
    assert [deg for deg, _ in told.marks] == sorted(deg for deg, _ in told.marks)
    exhaust = told.areas.mm2["exhaust"]
    opens = int(marks["exhaust opens"] / told.areas.step_deg)
    assert exhaust[opens] == 0.0
    assert exhaust[opens + 2] > 0.0


def turned(point: tuple[float, float], by_deg: float, about: tuple[float, float] = (0.0, 0.0)) -> tuple[float, float]:
    """As SVG's rotate(): clockwise on the screen, y down."""
    angle, x, y = math.radians(by_deg), point[0] - about[0], point[1] - about[1]
    cos, sin = math.cos(angle), math.sin(angle)
    return about[0] + x * cos - y * sin, about[1] + x * sin + y * cos


@pytest.mark.parametrize("name", SOUND)
def test_the_drawn_rod_stays_on_its_crank_pin_all_the_way_round(name: str) -> None:
    """What static/crank.js does to the parts, done to the big end here: rod and crank must take it to one place."""
    shown = bench(name)
    told = turning(shown)
    assert told is not None
    picture = Picture(svg(shown, "section"))
    rods = [one for one in picture.root.iter(f"{NAMESPACE}g") if one.get("data-moves") == "rod"]
    big = max((centre for one in rods for centre, _ in picture.circles(one)), key=lambda centre: centre[1])
    pin = told.pin[0], -told.pin[1]
    for i in range(0, 720, 45):
        tilt = told.turn.tilt_deg[i] - told.turn.tilt_deg[0]
        x, y = turned(big, tilt, pin)
        assert (x, y + told.turn.depth_mm[i]) == pytest.approx(turned(big, 0.5 * i), abs=0.01)


def test_everything_that_moves_is_named_for_the_browser_and_still_drawings_name_nothing() -> None:
    shown = bench()
    named = {name: set(re.findall('data-moves="([a-z ]+)"', svg(shown, name))) for name in DRAWINGS}
    assert named == {
        "bore": {"piston"}, "section": {"piston", "rod", "crank"}, "dial": {"hand"}, "squish": set(),
        "areas": {"angle", "exhaust area", "transfer area", "intake area"},
    }  # fmt: skip
    assert shown.now is not None
    assert all("data-moves" not in write_svg(one) for one in engine_drawings(shown.now))


@pytest.mark.parametrize("name", SOUND)
def test_section_and_bore_have_their_decks_in_one_line(name: str) -> None:
    """From the upper edge of each written picture down to its deck: the line's own height in the file."""
    shown = bench(name)
    beside = side_by_side(shown)
    assert beside is not None
    tops = [float(Picture(svg(shown, one)).root.get("viewBox", "").split()[1]) for one in ("section", "bore")]
    walls = Picture(svg(shown, "section"))
    wall = min(stroke.box[1] for stroke in walls.strokes(walls.group_about("cylinder wall")))
    assert beside.down[0] == pytest.approx(wall - tops[0], abs=0.01)
    assert beside.down[1] == pytest.approx(0.0 - tops[1], abs=0.01)


def test_of_an_engine_without_ports_a_sentence_stands_in_place_of_a_drawing() -> None:
    record = tomllib.loads(text_of(KART))
    record["ports"] = []
    del record["intake"]
    shown = bench_of({"record": record}, plus_minus=False)
    assert {name: isinstance(draw(shown, name), str) for name in DRAWINGS} == {
        "bore": True, "section": False, "dial": True, "areas": True, "squish": False,
    }  # fmt: skip
    assert (grip(shown), side_by_side(shown)) == (None, None)
    nothing = bench_of({"record": {}})
    assert all(isinstance(draw(nothing, name), str) for name in DRAWINGS)
    assert (turning(nothing), grip(nothing), port_named(nothing, "exhaust")) == (None, None, None)


def test_a_cut_out_in_the_skirt_leaves_the_wall_behind_it_in_sight() -> None:
    """The reed engine's piston with a cut-out over the boost port: the drawn lower edge rises to its top there."""
    record = tomllib.loads(text_of(REED))
    record["piston"]["openings"] = [{"name": "window", "clock_deg": 180, "width_mm": 20, "top_from_crown_mm": 30}]
    shown = bench_of({"record": record}, plus_minus=False)
    assert not shown.problems
    picture = Picture(svg(shown, "bore"))
    (body,) = picture.strokes(picture.group_about("piston"))
    assert round(0.35 + 30.0, 2) in {round(edge.end[1], 2) for edge in body.edges}


def test_an_opening_angle_is_said_the_way_it_is_spoken_of() -> None:
    shown = bench()
    for name, about in (("exhaust", 90.3), ("intake", 75.6)):
        port = port_named(shown, name)
        assert port is not None
        assert opening_deg(shown, port) == pytest.approx(about, abs=0.05)
