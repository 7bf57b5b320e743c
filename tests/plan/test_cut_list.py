"""The cut list: lines, stop lines and degrees against arithmetic done by hand and the triangle of the crank."""

import pytest

from scribeline.errors import PlanError
from scribeline.plan.cut_list import CutList, cut_list, margin_mm, stop_short
from scribeline.plan.description import Stage
from scribeline.plan.limit_table import LimitTable, OneLimit
from scribeline.plan.what_if import what_if
from tests.plan.engines import KART, REED, duration_deg, edited
from tests.plan.test_what_if import plan

STEPS = (
    "deck barrel top: 0.6 mm",
    "raise exhaust roof at exhaust: 1.2 mm",
    "widen exhaust at exhaust: 1.5 mm",
    "lower intake floor at intake: 0.8 mm",
    "trim skirt at intake side: 1 mm",
    "change pipe length at header: -20 mm",
)


def of(*steps: str, name: str = KART, draws: int = 0) -> CutList:
    return cut_list(what_if(edited(name=name), plan(*steps)), draws=draws)


def test_a_line_is_given_from_both_decks() -> None:
    """The roof stood 29.1 mm from the old deck; 0.6 came off: 28.5. Up 1.2: target 27.3, or 27.9 from the old deck.
    Instrument 0.15 and hand 0.2 make a margin of 0.35 mm: stop at 27.65."""
    roof = of(*STEPS).steps[1].lines[0]
    got = (roof.now_mm, roof.stop_mm, roof.target_mm, roof.target_from_old_deck_mm)
    assert got == pytest.approx((28.5, 27.65, 27.3, 27.9))
    assert (roof.port, roof.edge, roof.openings) == ("exhaust", "roof", 1)


def test_the_wheel_says_the_same() -> None:
    """The crown, its chamfer of 0.2 off, passes the target after 27.08 mm and the stop line after 27.43 mm."""
    roof = of(*STEPS).steps[1].lines[0]
    assert roof.opens_deg is not None
    assert roof.closes_deg is not None
    assert roof.closes_deg - roof.opens_deg == pytest.approx(duration_deg(27.08, 50.0, 100.0, 0.5), abs=1e-9)
    assert roof.stop_opens_deg is not None
    # the pin's offset moves opening and closing together, hardly differently at the two lines
    earlier = (duration_deg(27.08, 50.0, 100.0, 0.5) - duration_deg(27.43, 50.0, 100.0, 0.5)) / 2.0
    assert roof.stop_opens_deg - roof.opens_deg == pytest.approx(earlier, abs=0.01)
    assert roof.wheel_zero_deg == pytest.approx(1.98, abs=0.01)


def test_the_skirt_meets_an_intake_floor() -> None:
    """Floor 74.4 - 0.6 + 0.8 = 74.6 from the new deck, whose clearance is 0.02; the skirt is 52 mm: 22.58 mm."""
    floor = of(*STEPS).steps[3].lines[0]
    assert floor.target_mm == pytest.approx(74.6)
    assert floor.opens_deg is not None
    assert floor.closes_deg is not None
    open_for = (floor.closes_deg - floor.opens_deg) % 360.0
    assert open_for == pytest.approx(360.0 - duration_deg(22.58, 50.0, 100.0, 0.5), abs=1e-9)


def test_a_width_is_given_across_and_along() -> None:
    width = of(*STEPS).steps[2].widths[0]
    assert (width.now_chord_mm, width.stop_chord_mm, width.target_chord_mm) == pytest.approx((32.0, 33.15, 33.5))
    assert width.target_arc_mm == pytest.approx(36.7104, abs=1e-4)  # 50 · asin(33.5/50)


def test_margins_come_from_instrument_and_hand() -> None:
    assert [margin_mm(stage) for stage in (Stage.DECK, Stage.PORTS, Stage.PISTON)] == pytest.approx([0.1, 0.35, 0.25])
    assert stop_short(1.0, Stage.PORTS) == pytest.approx(0.65)
    assert stop_short(0.4, Stage.PORTS) == pytest.approx(0.2)  # half way, where the margin is most of the cut


def test_the_engine_is_measured_again_between_deck_and_ports() -> None:
    steps = of(*STEPS).steps
    assert [bool(step.measure_first) for step in steps] == [False, True, False, False, False, False]
    assert not any(step.measure_first for step in of(*STEPS[1:]).steps)


def test_what_to_expect_has_its_own_plus_minus_and_that_of_the_hand() -> None:
    """Solder: four readings ± 0.05 on one plane, 0.025 mean; a face cut by hand 0.03: √(0.025² + 0.03²) = 0.039."""
    deck = of(*STEPS[:1], draws=4096).steps[0]
    gap = next(one for one in deck.expected if one.name == "squish_gap_mm")
    assert (gap.before, gap.value) == pytest.approx((1.4275, 0.8275))
    assert gap.plus_minus == pytest.approx(0.0390, rel=0.03)
    assert "steps after 1 worked out again" in gap.if_different
    assert "a thicker head gasket" in gap.if_different


def test_every_step_says_what_to_find_with_its_plus_minus() -> None:
    """Also of what no number of the card tells: corners, lengths, masses, the spark, a gasket's thickness."""
    listed = of(
        "swap head gasket: \"thin copper\"", "square exhaust floor corners at exhaust: 3 mm",
        "trim skirt at intake side: 1 mm", "change pipe length at belly: -30 mm", "change ignition advance: -1 deg",
        "change fuel: 102",
    )  # fmt: skip
    found = {one.name: (one.before, one.value, one.plus_minus) for step in listed.steps for one in step.expected}
    assert all(step.expected for step in listed.steps)
    assert found["gaskets.head.1.compressed_mm"][:2] == (0.7, 0.4)
    assert found["ports.exhaust.floor_corner_radius_mm"][:2] == (6.0, 3.0)
    assert found["ports.exhaust.floor_corner_radius_mm"][2] == pytest.approx((0.3**2 + 0.2**2) ** 0.5)  # rubbing, hand
    assert found["piston.skirt_intake_side_mm"][:2] == (52.0, 51.0)
    assert found["piston.skirt_intake_side_mm"][2] == pytest.approx((0.05**2 + 0.2**2) ** 0.5)
    assert found["piston.mass_g"][1] < 148.0
    assert found["exhaust.sections.belly.length_mm"][:2] == (110.0, 80.0)
    assert found["ignition.advance_deg"][:2] == (18.0, 17.0)
    assert found["fuel.octane_ron"][:2] == (98.0, 102.0)
    labels = {one.label for step in listed.steps for one in step.expected}
    assert {"head gasket 1, compressed", "exhaust: floor corner radius", "piston: mass", "belly: length"} <= labels


def test_what_else_moves_stands_with_each_step() -> None:
    steps = of(*STEPS).steps
    assert "exhaust_duration_deg" not in {m.name for m in steps[0].also}
    assert "exhaust_duration_deg" in {m.name for m in steps[1].also}
    assert {m.name for m in steps[5].also} == {"pipe_length_mm", "pipe_volume_cc"}
    assert [one.name for one in steps[5].expected] == ["pipe_length_mm", "exhaust.sections.header.length_mm"]


def test_a_new_port_and_an_outline_have_lines_too() -> None:
    new = of("add auxiliary exhausts: 6 mm, below_exhaust_mm 3, clock_deg 50, height_mm 8").steps[0]
    assert [(line.edge, line.now_mm) for line in new.lines] == [("roof", None), ("floor", None)]
    roof, floor = new.lines
    assert roof.target_mm < roof.stop_mm < floor.stop_mm < floor.target_mm
    assert new.widths[0].now_chord_mm is None
    (boost,) = of("raise transfer roof at boost: 0.5 mm", name=REED).steps[0].lines
    assert (boost.now_mm, boost.target_mm) == pytest.approx((43.2, 42.7))


def test_without_the_deck_clearance_no_line_is_given() -> None:
    record = edited(
        ('deck_clearance_at_tdc_mm = { value = 0.62, plus_minus = 0.03, with = "depth gauge" }\n', ""),
        ('deck_height_mm = { value = 156.66, plus_minus = 0.10, with = "caliper" }\n', ""),
        ("roof_from_deck_mm", "roof_from_crown_tdc_mm"),
        ("floor_from_deck_mm", "floor_from_crown_tdc_mm"),
    )
    with pytest.raises(PlanError, match="measure deck_clearance_at_tdc_mm"):
        cut_list(what_if(record, plan(STEPS[1])), draws=0)


def test_what_was_switched_off_is_on_the_list() -> None:
    table = LimitTable(set=(OneLimit(name="squish_gap_mm", off=True),))
    listed = cut_list(what_if(edited(), plan(STEPS[0], limits=table)), draws=0)
    assert listed.said == ("The limit on squish_gap_mm is switched off by the builder.",)
    assert listed.deck_lowered_mm == pytest.approx(0.6)
