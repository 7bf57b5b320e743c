"""The small picture of a cylinder shows its own ports, and of a record that is not whole what there is."""

import math
import tomllib
import xml.etree.ElementTree as ElementTree
from typing import Any

import pytest

from scribeline.tasks.small_drawing import small_drawing, small_drawing_in_hand
from tests.examples import path_of

KART = path_of("club-kart-98").read_text()
SVG = "{http://www.w3.org/2000/svg}"


def paths(svg: str, kind: str) -> list[str]:
    return [one.attrib["d"] for one in ElementTree.fromstring(svg).iter(f"{SVG}path") if one.attrib["class"] == kind]


def test_it_is_as_wide_as_the_bore_unrolled_and_shows_each_opening() -> None:
    svg = small_drawing(KART)
    record = tomllib.loads(KART)
    left, _, wide, _ = map(float, ElementTree.fromstring(svg).attrib["viewBox"].split())
    assert wide + 2 * left == pytest.approx(math.pi * record["cylinder"]["bore_mm"]["value"], abs=0.1)
    openings = sum(2 if port.get("mirrored") else 1 for port in record["ports"])
    assert len(paths(svg, "small-port")) + len(paths(svg, "small-exhaust")) == openings
    assert len(paths(svg, "small-exhaust")) == 1


def test_nothing_in_it_runs_or_is_loaded() -> None:
    svg = small_drawing(KART)
    assert not [one for one in ElementTree.fromstring(svg).iter() if one.tag not in (f"{SVG}svg", f"{SVG}path")]
    assert "href" not in svg
    assert "style=" not in svg
    assert 'aria-label="The bore unrolled: 6 openings"' in svg


@pytest.mark.parametrize(
    ("record", "wide_mm"),
    [
        ({}, 50.0),
        ({"cylinder": {"bore_mm": {"value": 40.0}}}, 40.0),
        ({"cylinder": {"bore_mm": 39.9}, "crank": {"stroke_mm": 41}}, 39.9),
        ({"cylinder": {"bore_mm": "<script>"}}, 50.0),
        ({"cylinder": ["odd"], "ports": "none"}, 50.0),
        ({"cylinder": {"bore_mm": True}}, 50.0),
        ({"cylinder": {"bore_mm": 1e9}}, 50.0),
    ],
)
def test_a_record_in_hand_is_drawn_as_far_as_it_goes(record: dict[str, Any], wide_mm: float) -> None:
    svg = small_drawing_in_hand(record)
    _, _, wide, _ = map(float, ElementTree.fromstring(svg).attrib["viewBox"].split())
    assert wide - 6.0 == pytest.approx(math.pi * wide_mm, abs=0.1)
    assert "script" not in svg


def test_a_whole_record_in_hand_is_drawn_like_a_kept_one() -> None:
    assert small_drawing_in_hand(tomllib.loads(KART)) == small_drawing(KART)


def test_a_record_without_ports_is_still_a_cylinder() -> None:
    record = tomllib.loads(KART)
    del record["ports"]
    assert "ports not known" in small_drawing_in_hand(record)
