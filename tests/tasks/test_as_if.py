"""Edges moved on the page: every reading moves with them, nothing is lost, and they can be kept, cut or put back."""

import doctest
import math
import tomllib
from typing import Any

import pytest

from scribeline.engine import EngineRecord, judged_document
from scribeline.errors import RecordError
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.plan.carry_out import carry_out
from scribeline.plan.edges import edge_depths_mm
from scribeline.tasks import as_if
from scribeline.tasks.as_if import (
    SIDES,
    Travel,
    as_cuts,
    as_readings,
    kept_as,
    label_of,
    moved_by,
    moves_of,
    off_to_open_at,
    opening_edge,
    plan_with,
    record_as_if,
    travels,
)
from tests.examples import KART, REED, SOUND, edited, text_of

KART_RECORD = edited(name=KART)
WHEEL_ONLY = edited(
    ('roof_from_deck_mm = { value = 29.1, plus_minus = 0.10, with = "caliper in the bore" }\n', ""), name=KART
)


def worked(record: EngineRecord) -> WorkedOut:
    return work_out(record, draws=0)


def travel(record: EngineRecord, port: str, side: str, moves: as_if.Moves | None = None) -> Travel:
    now = worked(record_as_if(record, moves or {}))
    return next(one for one in travels(now, record, moves or {}) if (one.port, one.side) == (port, side))


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(as_if).failed == 0


def test_every_reading_of_a_moved_edge_moves_by_the_same() -> None:
    """The roof of the kart's exhaust was measured from the deck and on the wheel, both ways."""
    up = 1.3
    before, after = KART_RECORD.ports[0], record_as_if(KART_RECORD, {"exhaust": {"roof": up}}).ports[0]
    assert after.roof_from_deck_mm is not None
    assert after.roof_from_deck_mm.value == pytest.approx(29.1 - up, abs=1e-9)
    assert (after.floor_from_deck_mm, after.width_chord_mm) == (before.floor_from_deck_mm, before.width_chord_mm)
    moved = record_as_if(WHEEL_ONLY, {"exhaust": {"roof": up}})
    depths = [edge_depths_mm(one)["exhaust", "roof"] for one in (WHEEL_ONLY, moved)]
    assert depths[0] - depths[1] == pytest.approx(up, abs=1e-9)


def test_a_port_measured_on_the_degree_wheel_changes_its_degrees_and_gets_no_height() -> None:
    """The angle at which a crown passes a depth, by the cosine rule for crank, rod and the line between their ends."""
    moved = record_as_if(WHEEL_ONLY, {"exhaust": {"roof": 2.0}})
    port = moved.ports[0]
    assert port.roof_from_deck_mm is None
    assert port.roof_opens_deg_atdc is not None
    assert port.roof_closes_deg_atdc is not None
    open_deg = port.roof_closes_deg_atdc.value - port.roof_opens_deg_atdc.value
    depth = edge_depths_mm(WHEEL_ONLY)["exhaust", "roof"] - 2.0 - 0.2  # less the chamfer of the crown
    throw, rod, offset = 25.0, 100.0, 0.5
    height = math.sqrt((rod + throw) ** 2 - offset**2) - depth
    line = math.hypot(height, offset)
    at_crank = math.degrees(math.acos((throw**2 + line**2 - rod**2) / (2 * throw * line)))
    assert open_deg == pytest.approx(360.0 - 2.0 * at_crank, abs=1e-6)


def test_two_ways_of_measuring_agree_afterwards_as_well_as_before() -> None:
    before, after = (worked(one) for one in (KART_RECORD, record_as_if(KART_RECORD, {"exhaust": {"roof": 1.0}})))
    gaps = [{one.first: one.difference for one in out.agreements} for out in (before, after)]
    name = "ports.exhaust.roof_depth_mm.from_deck"
    assert gaps[1][name] == pytest.approx(gaps[0][name], abs=1e-6)


@pytest.mark.parametrize("name", SOUND)
def test_each_edge_can_go_to_both_ends_of_its_travel(name: str) -> None:
    record = edited(name=name)
    found = list(travels(worked(record), record, {}))
    assert {one.side for one in found} == set(SIDES)
    for one in found:
        for by in (one.low, one.high):
            shown = travel(record, one.port, one.side, moved_by({}, one.port, one.side, by * 0.999))
            assert shown.mm == pytest.approx(one.mm + one.way * by, abs=0.05)
            assert shown.measured_mm == pytest.approx(one.mm, abs=1e-9)


def test_a_port_measured_only_on_the_wheel_can_be_moved_too() -> None:
    assert travel(WHEEL_ONLY, "exhaust", "roof", {"exhaust": {"roof": 1.0}}).by_mm == 1.0


def test_beyond_its_travel_an_edge_is_refused() -> None:
    with pytest.raises(RecordError, match="above the crown at top dead centre"):
        record_as_if(KART_RECORD, {"exhaust": {"roof": 28.5}})


def test_no_roof_can_be_pulled_above_the_crown() -> None:
    """6.62 mm below the deck, and the crown 0.62 mm below it at top dead centre: 6 mm are left."""
    high = edited(
        ('roof_from_deck_mm = { value = 29.1,', 'roof_from_deck_mm = { value = 6.62,'),
        ("roof_opens_deg_atdc = 92.5      # raw wheel readings, corrected by the piston stop above\n", ""),
        ("roof_closes_deg_atdc = 271.5\n", ""),
    )  # fmt: skip
    assert travel(high, "exhaust", "roof").high == pytest.approx(6.0, abs=1e-9)


def test_a_finger_cannot_pull_an_edge_beyond_its_travel() -> None:
    one = travel(KART_RECORD, "exhaust", "roof")
    assert one.by_for(28.1) == pytest.approx(1.0)
    assert (one.by_for(-50.0), one.by_for(200.0)) == (one.high, one.low)


def test_an_outline_off_a_rubbing_goes_only_where_metal_comes_off() -> None:
    """The reed engine's boost port has a free outline."""
    record = edited(name=REED)
    assert {one.low for one in travels(worked(record), record, {}) if one.port == "boost"} == {0.0}


@pytest.mark.parametrize(("port", "angle_deg", "number"), [
    ("exhaust", 84.0, "exhaust_opens_deg_atdc"),
    ("main transfer", 108.25, "ports.main transfer.opens_deg_atdc"),
    ("intake", 80.0, "intake_opens_deg_atdc"),
])  # fmt: skip
def test_a_typed_opening_angle_puts_the_edge_where_it_opens_there(port: str, angle_deg: float, number: str) -> None:
    one = next(each for each in KART_RECORD.ports if each.name == port)
    off = off_to_open_at(worked(KART_RECORD), one, angle_deg)
    assert off is not None
    opens = worked(record_as_if(KART_RECORD, {port: {opening_edge(one): off}})).value(number)
    assert opens == pytest.approx(360.0 - angle_deg if port == "intake" else angle_deg, abs=1e-6)


def test_no_height_opens_a_port_at_an_angle_that_is_none() -> None:
    assert off_to_open_at(worked(KART_RECORD), KART_RECORD.ports[0], 190.0) is None


def test_what_is_kept_comes_back_and_what_fits_no_port_is_left_out() -> None:
    moves = moved_by(moved_by({}, "exhaust", "roof", 1.004), "intake", "width", -0.5)
    kept = kept_as(moves)
    assert kept == {"exhaust": {"roof_mm": 1.0}, "intake": {"width_mm": -0.5}}
    assert moves_of({"as_if": kept}, KART_RECORD) == {"exhaust": {"roof": 1.0}, "intake": {"width": -0.5}}
    assert kept_as(moved_by(moved_by({}, "exhaust", "roof", 1.0), "exhaust", "roof", 0.0)) is None
    for junk in ({"as_if": {"nobody": {"roof_mm": 1.0}}}, {"as_if": {"exhaust": {"roof_mm": "1"}}}, {"as_if": 3}, {}):
        assert moves_of(junk, KART_RECORD) == {}
    assert label_of("exhaust", "roof", 1.0) == "as if exhaust: roof 1.00 mm higher"


def test_cuts_for_the_plan_make_of_the_engine_what_the_page_showed() -> None:
    moves: as_if.Moves = {"exhaust": {"roof": 1.0, "floor": 0.3, "width": 0.5}, "main transfer": {"roof": 0.4}}
    steps, refused = as_cuts(KART_RECORD, moves)
    assert refused == ()
    cut, shown = worked(carry_out(KART_RECORD, steps)), worked(record_as_if(KART_RECORD, moves))
    for name in ("exhaust_duration_deg", "blowdown_deg", "ports.exhaust.area_mm2", "exhaust_time_area_s_mm2"):
        assert cut.value(name) == pytest.approx(shown.value(name), rel=1e-9)


def test_what_no_cut_can_make_is_said_and_stays() -> None:
    steps, refused = as_cuts(KART_RECORD, {"exhaust": {"roof": -0.5, "width": 0.2}, "rear transfer": {"floor": 1.0}})
    assert [(step.do, step.at, step.amount) for step in steps] == [("widen exhaust", "exhaust", 0.2)]
    assert "add metal" in refused[0]
    assert "no operation cuts this edge" in refused[1]


def test_steps_go_to_the_end_of_the_plan_that_is_there() -> None:
    steps, _ = as_cuts(KART_RECORD, {"exhaust": {"roof": 1.0}})
    table = {"do": "raise exhaust roof", "at": "exhaust", "up_mm": 1.0}
    assert plan_with(None, steps) == ("plan", {"scribeline_plan": 1, "steps": [table]})
    there = {"scribeline_plan": 1, "steps": [{"do": "trim skirt"}]}
    assert plan_with(there, steps) == ("plan.steps", [{"do": "trim skirt"}, table])


def test_as_the_reading_the_record_gives_the_numbers_that_were_shown() -> None:
    document: dict[str, Any] = tomllib.loads(text_of(KART))
    moves: as_if.Moves = {"exhaust": {"roof": 1.0}, "intake": {"floor": 0.7}}
    for index, port, words in as_readings(KART_RECORD, moves):
        document["ports"][index] = port
        assert words.endswith("as the reading")
    problems, record = judged_document(document)
    assert (problems, record is None) == ([], False)
    assert record is not None
    kept, shown = worked(record), worked(record_as_if(KART_RECORD, moves))
    for name in ("exhaust_duration_deg", "intake_duration_deg", "blowdown_deg"):
        assert kept.value(name) == pytest.approx(shown.value(name), abs=2e-3)
