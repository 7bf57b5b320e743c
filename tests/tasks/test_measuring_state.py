"""What is said of a record in hand that need not be whole. Angles against the slider-crank's own closed form."""

import copy
import math
import tomllib
from pathlib import Path
from typing import Any

import pytest

from scribeline.engine import read_record
from scribeline.errors import RecordError
from scribeline.tasks.measuring_files import record_from_toml, toml_of_record
from scribeline.tasks.measuring_state import both_ways, standing_of

KART = Path("examples/club-kart-98.toml")


@pytest.fixture
def kart() -> dict[str, Any]:
    return tomllib.loads(KART.read_text())


def depth_mm(deg: float, stroke: float, rod: float) -> float:
    """How far the crown is below top dead centre without an offset: r + l - (r cos t + sqrt(l2 - r2 sin2 t))."""
    throw, angle = stroke / 2, math.radians(deg)
    return throw + rod - (throw * math.cos(angle) + math.sqrt(rod**2 - (throw * math.sin(angle)) ** 2))


def test_a_whole_record_can_be_kept(kart: dict[str, Any]) -> None:
    standing = standing_of(kart)
    assert standing.can_be_kept
    assert (standing.missing, standing.refused, standing.disagreements) == ((), (), ())


def test_a_new_cylinder_lacks_what_every_engine_has() -> None:
    standing = standing_of({"scribeline_record": 1, "name": "new"})
    assert [one.path for one in standing.missing] == [
        "record.speed_rpm", "record.crank.stroke_mm", "record.crank.rod_length_mm", "record.cylinder.bore_mm",
    ]  # fmt: skip
    assert standing.refused == ()
    assert not standing.can_be_kept


def test_a_part_that_was_begun_lacks_its_own(kart: dict[str, Any]) -> None:
    del kart["ports"][2]["role"]
    kart["squish"] = {"solder_diameter_mm": 2}
    missing = [one.path for one in standing_of(kart).missing]
    assert missing == ["record.squish.head_gasket_fitted", "record.ports.2.role"]


def test_a_refusal_stands_at_its_field_with_what_is_accepted(kart: dict[str, Any]) -> None:
    kart["cylinder"]["bore_mm"] = {"value": 500, "with": "caliper"}
    kart["ports"][1]["clock_deg"] = "x"
    kart["ports"][0]["floor_from_deck_mm"] = 20.0  # above its roof
    refused = {one.path: one for one in standing_of(kart).refused}
    assert refused["record.cylinder.bore_mm"].accepted == "10 to 200 mm"
    assert "a number" in refused["record.ports.1.clock_deg"].accepted
    kart["cylinder"]["bore_mm"] = 50
    kart["ports"][1]["clock_deg"] = 75
    (only,) = standing_of(kart).refused
    assert only.path.startswith("record.ports.0")
    assert only.words.startswith("20")


def test_a_disagreement_stands_at_the_readings_that_differ(kart: dict[str, Any]) -> None:
    kart["ports"][0]["roof_opens_deg_atdc"] = 82.5
    (found,) = standing_of(kart).disagreements
    assert found.paths == (
        "record.ports.0.roof_closes_deg_atdc", "record.ports.0.roof_from_deck_mm", "record.ports.0.roof_opens_deg_atdc",
    )  # fmt: skip
    assert found.words == (
        "Measured twice and not agreeing: exhaust: roof below the crown at top dead centre. “measured from the deck” "
        "gives 2.09 mm more than “degree wheel, crown opening and closing”; their +/- together is 0.33 mm."
    )


def test_of_height_and_degrees_the_one_that_was_not_measured_appears() -> None:
    record: dict[str, Any] = {
        "scribeline_record": 1,
        "crank": {"stroke_mm": 50.0, "rod_length_mm": 100.0},
        "cylinder": {"bore_mm": 50.0, "deck_clearance_at_tdc_mm": 0.5},
        "ports": [
            {"name": "exhaust", "role": "exhaust", "clock_deg": 0, "roof_from_deck_mm": depth_mm(90, 50, 100) + 0.5},
            {"name": "main", "role": "transfer", "clock_deg": 90, "roof_opens_deg_atdc": 115.0},
        ],
    }
    found = {one.path: one for one in both_ways(record)}
    assert found["record.ports.0.roof_opens_deg_atdc"].value == pytest.approx(90.0, abs=1e-9)
    assert found["record.ports.0.roof_closes_deg_atdc"].value == pytest.approx(270.0, abs=1e-9)
    main = found["record.ports.1.roof_from_deck_mm"]
    assert main.value == pytest.approx(depth_mm(115, 50, 100) + 0.5, abs=1e-9)
    assert main.plus_minus == pytest.approx(0.4, abs=0.1)  # a degree of the wheel moves the crown by some 0.4 mm there
    assert main.words("inch").endswith("in")
    assert "record.ports.0.roof_from_deck_mm" not in found  # it was measured
    assert "record.ports.1.roof_opens_deg_atdc" not in found


def test_an_intake_is_opened_by_the_skirt_coming_up() -> None:
    record: dict[str, Any] = {
        "crank": {"stroke_mm": 50.0, "rod_length_mm": 100.0},
        "cylinder": {"bore_mm": 50.0, "deck_clearance_at_tdc_mm": 0.5},
        "piston": {"skirt_intake_side_mm": 52.0},
        "ports": [{"name": "in", "role": "intake", "clock_deg": 180,
                   "floor_from_deck_mm": depth_mm(75, 50, 100) + 52.0 + 0.5}],
    }  # fmt: skip
    found = {one.path: one.value for one in both_ways(record)}
    assert found["record.ports.0.floor_opens_deg_atdc"] == pytest.approx(285.0, abs=1e-9)
    assert found["record.ports.0.floor_closes_deg_atdc"] == pytest.approx(75.0, abs=1e-9)


@pytest.mark.parametrize(
    "record",
    [{}, {"ports": 3}, {"crank": []}, {"crank": {"stroke_mm": 50}}, {"ports": [1, {"name": 2}, []]}, {"name": 5},
     {"squish": {"readings": [None]}}, {"exhaust": {"sections": "x"}}],
)  # fmt: skip
def test_anything_in_hand_is_judged_without_an_error(record: dict[str, Any]) -> None:
    before = copy.deepcopy(record)
    standing = standing_of(record)
    assert not standing.can_be_kept
    assert record == before
    assert both_ways(record) == ()


def test_readings_that_contradict_each_other_are_said_so(kart: dict[str, Any]) -> None:
    kart["degree_wheel"] = {"readings": "raw", "stop_turning_forwards_deg": 10, "stop_turning_back_deg": 10}
    standing = standing_of(kart)
    assert standing.refused or standing.disagreements


def test_a_record_goes_to_toml_and_comes_back(kart: dict[str, Any]) -> None:
    text = toml_of_record(kart)
    assert read_record(text) == read_record(KART.read_text())
    assert "# " in text
    half = {"scribeline_record": 1, "name": "half", "ports": [{"name": "a b"}], "crank": {"stroke_mm": {"value": 5.5}}}
    text = toml_of_record(half)
    assert text.startswith("# An engine record that is not whole yet")
    assert record_from_toml(text.encode(), "half.toml") == half
    assert record_from_toml(b"\xef\xbb\xbf" + KART.read_bytes(), "kart.toml") == kart


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"a = ", "what to do"),
        (b"\xff\xfe", "UTF-8"),
        (b"x = 1", "engine record"),
        (b"#" * 2_000_000, "at most 1048576"),
    ],
)
def test_what_is_no_record_is_refused(data: bytes, reason: str) -> None:
    with pytest.raises(RecordError, match=reason):
        record_from_toml(data, "some.toml")
