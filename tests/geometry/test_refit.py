"""What moves when gaskets, deck or crown change, against the published-value table 02 and against plain geometry."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.engine import EngineRecord, GasketSheet, Measured, read_record, read_record_file, write_record
from scribeline.errors import GeometryError, RecordError
from scribeline.geometry import refit
from scribeline.geometry.work_out import WorkedOut, work_out
from tests.reference.checks import Check, assert_close, each

EXAMPLES = Path(__file__).parents[2] / "examples"
KART = read_record_file(EXAMPLES / "club-kart-98.toml")
PORTS = """
[[ports]]
name = "exhaust"
role = "exhaust"
clock_deg = 0
roof_from_deck_mm = {exhaust}
floor_from_deck_mm = {stroke}
width_chord_mm = 20
[[ports]]
name = "transfer"
role = "transfer"
clock_deg = 90
roof_from_crown_tdc_mm = {transfer}
floor_from_crown_tdc_mm = {stroke}
width_chord_mm = 12
[[ports]]
name = "intake"
role = "intake"
clock_deg = 180
roof_from_crown_tdc_mm = {intake_roof}
floor_from_crown_tdc_mm = {intake_floor}
width_chord_mm = 20
"""
ENGINE = """
scribeline_record = 1
name = "reference"
speed_rpm = 6000
[crank]
stroke_mm = {stroke}
rod_length_mm = {rod}
pin_offset_mm = {offset}
[cylinder]
bore_mm = {bore}
deck_clearance_at_tdc_mm = 0
[piston]
skirt_intake_side_mm = 40
crown_chamfer_mm = 0
[head]
clearance_on_engine_cc = {clearance}
plug_thread_cc = 0
[intake]
control = "piston port"
[squish]
head_gasket_fitted = true
solder_diameter_mm = 2
readings = [{{ clock_deg = 0, gap_mm = 0.8 }}, {{ clock_deg = 180, gap_mm = 0.8 }}]
[gaskets]
base = [{{ nominal_mm = 0.5, compressed_mm = 0.5 }}]
"""


def sheet(thickness_mm: float) -> GasketSheet:
    return GasketSheet(nominal_mm=Measured(value=thickness_mm), compressed_mm=Measured(value=thickness_mm))


def needed(out: WorkedOut, name: str) -> float:
    value = out.value(name)
    assert value is not None, name
    return value


@each("02_geometry", "geo-base-gasket-")
def test_one_more_base_gasket(check: Check) -> None:
    """A base gasket more, from record to card and back: every number of the reference by the exact amount."""
    given_ = check.inputs
    intake_floor = given_["intake_skirt_travel_from_tdc_mm"] + 40.0
    text = (ENGINE + PORTS).format(
        stroke=given_["nominal_stroke"],
        rod=given_["rod"],
        offset=given_["e"],
        bore=given_["bore"],
        clearance=given_["clearance_volume_cm3"],
        exhaust=given_["exhaust_top_edge_depth_mm"],
        transfer=given_["transfer_top_edge_depth_mm"],
        intake_roof=intake_floor - 8.0,
        intake_floor=intake_floor,
    )
    record = read_record(text)
    thicker = refit.change_base_gaskets(record, (*record.gaskets.base, sheet(given_["gasket_mm"])))
    before, after = work_out(record, draws=0), work_out(thicker, draws=0)
    assert_close(
        check,
        {
            "exhaust_duration_before_deg": needed(before, "exhaust_duration_deg"),
            "exhaust_duration_after_deg": needed(after, "exhaust_duration_deg"),
            "transfer_duration_before_deg": needed(before, "transfer_duration_deg"),
            "transfer_duration_after_deg": needed(after, "transfer_duration_deg"),
            "intake_duration_before_deg": needed(before, "intake_duration_deg"),
            "intake_duration_after_deg": needed(after, "intake_duration_deg"),
            "added_clearance_volume_cm3": needed(after, "clearance_volume_cc") - needed(before, "clearance_volume_cc"),
            "cr_geometric_after": needed(after, "compression_ratio_geometric"),
            "cr_trapped_after": needed(after, "compression_ratio_trapped"),
            "squish_gap_increase_mm": needed(after, "squish_gap_mm") - needed(before, "squish_gap_mm"),
        },
    )


CROWN = ("exhaust_duration_deg", "transfer_duration_deg", "blowdown_deg", "exhaust_time_area_s_mm2")
INTAKE = ("intake_duration_deg", "intake_time_area_s_mm2")
ABOVE = ("squish_gap_mm", "squish_gap_min_mm", "clearance_volume_cc")


def assert_same(before: EngineRecord, after: EngineRecord, *names: str) -> None:
    first, second = work_out(before, draws=0), work_out(after, draws=0)
    for name in names:
        assert needed(second, name) == pytest.approx(needed(first, name), rel=1e-12), name


def test_decking_the_top_moves_the_head_and_no_port() -> None:
    after = refit.deck_barrel_top(KART, 0.3)
    assert_same(KART, after, *CROWN, *INTAKE)
    first, second = work_out(KART, draws=0), work_out(after, draws=0)
    assert needed(second, "squish_gap_mm") == pytest.approx(needed(first, "squish_gap_mm") - 0.3, abs=1e-12)
    area_cm2 = needed(first, "bore_area_mm2") / 100.0
    for name in ("clearance_volume_cc", "clearance_from_bench_cc"):
        assert needed(second, name) == pytest.approx(needed(first, name) - area_cm2 * 0.03, rel=1e-12)
    exhaust = after.ports[0].roof_from_deck_mm
    assert exhaust is not None
    assert exhaust.value == pytest.approx(29.1 - 0.3)


def test_a_head_gasket_moves_squish_and_volume_only() -> None:
    after = refit.change_head_gaskets(KART, (sheet(0.4),))
    assert_same(KART, after, *CROWN, *INTAKE)
    assert needed(work_out(after, draws=0), "squish_gap_mm") == pytest.approx(1.4275 - 0.3, abs=1e-12)


def test_a_head_gasket_leaves_solder_taken_without_it() -> None:
    bare = KART.model_copy(update={"squish": KART.squish.model_copy(update={"head_gasket_fitted": False})})  # type: ignore[union-attr]
    after = refit.change_head_gaskets(bare, (sheet(0.4),))
    assert after.squish == bare.squish
    gap = [needed(work_out(one, draws=0), "squish_gap_mm") for one in (bare, after)]
    assert gap[1] - gap[0] == pytest.approx(-0.3, abs=1e-12)


def test_cutting_the_foot_is_less_base_gasket() -> None:
    by_cut, by_gasket = refit.deck_barrel_base(KART, 0.2), refit.change_base_gaskets(KART, (sheet(0.26),))
    assert_same(by_cut, by_gasket, *CROWN, *INTAKE, *ABOVE)


def test_skimming_the_crown_leaves_the_skirt_alone() -> None:
    after = refit.skim_crown(KART, 0.25)
    assert_same(KART, after, *INTAKE)
    raised = refit.change_base_gaskets(KART, (sheet(0.46 + 0.25),))
    assert_same(after, raised, *CROWN, *ABOVE)


@pytest.mark.parametrize("example", ["club-kart-98.toml", "reed-125.toml"])
@settings(max_examples=15, deadline=None)
@given(by_mm=st.floats(-0.4, 1.5))
def test_what_agreed_before_agrees_after(example: str, by_mm: float) -> None:
    """Every way in which a thing was measured moves by the same amount: the differences between them stay."""
    record = read_record_file(EXAMPLES / example)
    old = refit.compressed_mm(record.gaskets.base)
    after = refit.change_base_gaskets(record, (sheet(max(old + by_mm, 0.02)),))
    for first, second in zip(work_out(record, draws=0).agreements, work_out(after, draws=0).agreements, strict=True):
        assert second.difference == pytest.approx(first.difference, abs=1e-9), first.label


def test_there_and_back_again_is_where_it_was() -> None:
    there = refit.change_base_gaskets(KART, (sheet(1.0),))
    back = refit.change_base_gaskets(there, KART.gaskets.base)
    first, second = work_out(KART, draws=0), work_out(back, draws=0)
    for name, worked in first.values.items():
        if worked.value is not None:
            assert needed(second, name) == pytest.approx(worked.value, rel=1e-11, abs=1e-11), name


def test_the_same_stack_changes_nothing() -> None:
    assert refit.change_base_gaskets(KART, KART.gaskets.base) == KART
    assert refit.change_head_gaskets(KART, KART.gaskets.head) == KART


def test_the_plus_minus_grows_by_that_of_the_change() -> None:
    """Deck clearance ± 0.03 and two sheets of ± 0.01 that change: sqrt(0.03² + 2·0.01²)."""
    after = refit.change_base_gaskets(KART, (sheet(1.0),))
    clearance = after.cylinder.deck_clearance_at_tdc_mm
    assert clearance is not None
    assert clearance.plus_minus == pytest.approx((0.03**2 + 2 * 0.01**2) ** 0.5)


def test_the_new_record_can_be_written_and_read() -> None:
    after = refit.skim_crown(refit.deck_barrel_top(KART, 0.3), 0.1)
    assert read_record(write_record(after)) == after


@pytest.mark.parametrize("cut", [refit.deck_barrel_top, refit.deck_barrel_base, refit.skim_crown])
def test_metal_only_comes_off(cut: object) -> None:
    with pytest.raises(GeometryError, match="would add metal"):
        cut(KART, -0.1)  # type: ignore[operator]


def test_a_cut_that_no_engine_survives_is_refused() -> None:
    with pytest.raises(RecordError, match="squish"):
        refit.deck_barrel_top(KART, 5.0)
