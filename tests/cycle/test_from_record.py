"""A record becomes an engine: against numbers typed in the record, closed forms and refusals."""

import math
from typing import get_args

import numpy as np
import pytest

from scribeline.cycle.engine import Conditions, Knobs, tables_of
from scribeline.cycle.from_record import PASSAGE_OVER_STROKE, Build, build_of
from scribeline.cycle.turning import BURN_BASE_DEG
from scribeline.engine import EngineRecord
from scribeline.engine.bottom_end import Cylinder
from scribeline.errors import CycleError
from scribeline.geometry.work_out import work_out
from tests.examples import KART, REED, edited, text_of

OFFSET = "pin_offset_mm = { value = 0.5, plus_minus = 0.1"


def built(record: EngineRecord) -> Build:
    return build_of(work_out(record, draws=0))


@pytest.fixture(scope="module")
def kart() -> Build:
    return built(edited())


@pytest.fixture(scope="module")
def reed() -> Build:
    return built(edited(name=REED))


def taken(build: Build) -> dict[str, float]:
    return {one.name: one.value for one in build.taken}


def test_lengths_and_volumes_are_those_of_the_record_in_si(reed):
    c = reed.engine.cylinder
    assert (c.bore_m, c.rod_m) == pytest.approx((0.054, 0.108), rel=1e-12)
    assert c.swept_m3 == pytest.approx(math.pi / 4 * 0.054**2 * 0.0545, rel=1e-9)
    assert c.clearance_m3 == pytest.approx(9.6e-6)


def test_the_crankcase_gives_up_what_the_passages_hold(reed):
    passages = 2 * 310e-6 * 88e-3 + 2 * 240e-6 * 92e-3 + 190e-6 * 55e-3
    at_bdc = reed.engine.case_at_tdc_m3 - reed.engine.cylinder.swept_m3
    assert at_bdc + passages == pytest.approx(322e-6, rel=1e-9)
    assert taken(reed)["crankcase without its passages"] == pytest.approx(322 - 1e6 * passages)


def test_a_mirrored_port_counts_twice_and_ports_stay_apart(kart):
    assert kart.transfers == ("main transfer", "rear transfer")
    main, rear = kart.engine.transfers
    assert (main.duct_area_m2, main.length_m) == pytest.approx((520e-6, 0.075))
    # a rectangle of the same size, less what four round corners of 2.5 and 2.0 mm cut off
    for port, wide, tall, radius in ((main, 17.5, 13.0, 2.5), (rear, 11.0, 12.6, 2.0)):
        assert port.area_m2.max() == pytest.approx(2e-6 * (wide * tall - (4 - math.pi) * radius**2), rel=2e-3)


def test_side_exhausts_open_with_the_main_one_and_the_passage_holds_them_all(reed):
    area = reed.engine.exhaust_area_m2
    full = 1e-6 * sum(
        n * (w * h - (2 - math.pi / 2) * (top**2 + bottom**2))
        for n, w, h, top, bottom in ((1, 36.0, 25.7, 8.0, 7.0), (2, 9.5, 11.8, 2.5, 3.5))
    )
    assert area.max() == pytest.approx(full, rel=0.02)
    first = reed.engine.exhaust[0]
    assert first.length_m == pytest.approx(0.062)
    assert math.pi / 4 * first.from_m**2 == pytest.approx(area.max(), rel=0.02)
    assert math.pi / 4 * first.to_m**2 == pytest.approx(1150e-6)
    assert [s.length_m for s in reed.engine.exhaust[1:]] == pytest.approx([0.262, 0.175, 0.150, 0.095, 0.205, 0.230])


def test_ports_open_where_the_card_says(kart):
    out = work_out(edited(), draws=0)
    angles = np.linspace(0.0, 360.0, 721)
    opened = angles[kart.engine.exhaust_area_m2 > 0.0]
    assert opened[0] == pytest.approx(out.value("exhaust_opens_deg_atdc"), abs=0.5)
    assert opened[-1] == pytest.approx(out.value("exhaust_closes_deg_atdc"), abs=0.5)
    intake = angles[kart.engine.intake_area_m2 > 0.0]
    assert intake[intake < 180].max() == pytest.approx(out.value("intake_closes_deg_atdc"), abs=0.5)


def test_a_pin_offset_moves_the_piston_and_both_sides_of_the_timing(kart):
    out = work_out(edited(), draws=0)
    engine = kart.engine
    opens, closes = out.value("exhaust_opens_deg_atdc"), out.value("exhaust_closes_deg_atdc")
    assert abs(opens + closes - 360.0) > 0.1
    assert math.degrees(engine.exhaust_opens_rad) == pytest.approx(opens)
    assert math.degrees(engine.closes_rad) == pytest.approx(closes)
    # the crown's edge uncovers the roof at both angles
    depth = engine.cylinder.depth_m
    assert depth(engine.exhaust_opens_rad) == pytest.approx(depth(engine.closes_rad), rel=1e-9)
    assert engine.cylinder.travel_m == pytest.approx(out.value("true_stroke_mm") / 1e3, rel=1e-12)
    centred = built(edited((OFFSET, OFFSET.replace("0.5", "0.0")))).engine
    assert centred.closes_rad == pytest.approx(2.0 * math.pi - centred.exhaust_opens_rad)


def test_the_intake_runs_from_the_mouth_to_the_engine(kart):
    ends = [(s.length_m, s.from_m, s.to_m) for s in kart.engine.intake]
    assert ends[:2] == [pytest.approx((0.075, 0.032, 0.024)), pytest.approx((0.060, 0.025, 0.028))]
    assert ends[2][0] == pytest.approx(0.040)  # the port's own passage


def test_reed_petals_and_their_material(reed):
    r = reed.engine.reed
    assert r is not None
    assert (r.petals, r.length_m, r.thickness_m, r.stop_m) == pytest.approx((4, 0.037, 0.42e-3, 9.5e-3))
    assert reed.engine.intake_area_m2.tolist() == pytest.approx([1320e-6] * 721)
    assert taken(reed)["carbon fibre petal: stiffness"] * 1e9 == r.modulus_pa
    softer = built(edited(('"carbon fibre"', '"glass fibre"'), name=REED)).engine.reed
    assert softer is not None
    assert softer.modulus_pa < r.modulus_pa


def test_the_spark_follows_its_table(reed, kart):
    assert reed.at(8000.0).spark_deg_atdc == pytest.approx(-(24 - 4 * 2 / 3))
    assert reed.at(500.0).spark_deg_atdc == -14.0
    assert reed.at(15000.0).spark_deg_atdc == -10.0
    assert kart.at(4000.0).spark_deg_atdc == kart.at(12000.0).spark_deg_atdc == -18.0


def test_what_was_not_measured_is_taken_and_listed():
    build = built(
        edited(
            ("passage_length_mm = 75\n", ""),
            ("passage_area_mm2 = 140\n", ""),
            ("octane_ron = 98\n", ""),
            ("passage_length_mm = 45\n", ""),
        )
    )
    got = taken(build)
    main, rear = build.engine.transfers
    assert got["main transfer: passage length"] == pytest.approx(1e3 * main.length_m)
    assert main.length_m == pytest.approx(PASSAGE_OVER_STROKE * 0.05, rel=1e-4)
    assert rear.duct_area_m2 == pytest.approx(2e-6 * got["rear transfer: passage area"])
    assert got["fuel octane"] == build.octane == 95.0
    assert build.engine.exhaust[0].length_m == pytest.approx(0.240)
    assert got["exhaust passage"] == 0.0
    assert {one.source for one in build.taken} <= {"judgement", "geometry"}
    assert not {"main transfer: passage length", "fuel octane"} & set(taken(built(edited())))


def test_what_is_measured_but_not_simulated_is_said(reed, kart):
    assert any("skirt" in left for left in reed.left_out)
    assert all(build.left_out[-2:] == ("blow-by past the rings", "oil as anything but fuel") for build in (reed, kart))


def test_a_leak_is_asked_for_listed_and_no_longer_left_out():
    build = build_of(work_out(edited(), draws=0), blow_by_mm2=0.5)
    assert build.engine.blow_by_m2 == pytest.approx(0.5e-6)
    assert taken(build)["blow-by"] == 0.5
    assert not any("blow-by" in left for left in build.left_out)


def test_the_airbox_stands_between_the_intake_and_the_air(kart):
    """Its mouth is not in the record and is taken; without a box the intake draws from the open air."""
    box = kart.engine.airbox
    assert box is not None
    assert box.volume_m3 == pytest.approx(900e-6)
    assert 1e3 * box.tube[0].from_m == pytest.approx(taken(kart)["airbox mouth"])
    assert built(edited(("airbox_cc = 900\n", ""))).engine.airbox is None


def test_an_exhaust_port_below_the_skirt_opens_to_the_crankcase(kart):
    """A skirt 3 mm too short for the port leaves a strip of its width open round top dead centre."""
    assert kart.engine.exhaust_under_skirt_m2 is None
    out = work_out(edited(), draws=0)
    short = out.value("ports.exhaust.floor_depth_mm") - 3.0
    old = next(line for line in text_of(KART).splitlines() if line.startswith("skirt_exhaust_side_mm"))
    area = built(edited((old, f"skirt_exhaust_side_mm = {short:.6f}"))).engine.exhaust_under_skirt_m2
    assert area is not None
    assert int(area.argmax()) in (0, 720)
    assert 1e6 * area.max() == pytest.approx(3.0 * 22.0, rel=0.35)  # 32 mm wide, with corners of 7 and 6 mm
    assert area[60] == 0.0


def test_the_bend_of_the_header_costs_what_the_handbook_says(kart):
    """80 degrees on a middle line of 70 mm, mean bore 36 mm; a bend without a radius is taken as a pipe bender's."""
    assert kart.engine.exhaust[1].bend_loss == pytest.approx((0.131 + 1.847 * (18 / 70) ** 3.5) * 80 / 90, rel=1e-9)
    assert kart.engine.exhaust[1].bend_tightness == pytest.approx(18 / 70)
    assert [s.bend_loss for s in kart.engine.exhaust[2:]] == [0.0] * (len(kart.engine.exhaust) - 2)
    free = built(edited(("bend_radius_mm = 70\n", "")))
    assert taken(free)["exhaust section 1: bend radius"] == pytest.approx(1.5 * 36)
    assert free.engine.exhaust[1].bend_loss > kart.engine.exhaust[1].bend_loss
    assert built(edited(("bend_deg = 80\n", ""), ("bend_radius_mm = 70\n", ""))).engine.exhaust[1].bend_loss == 0.0


def test_a_carburettor_narrower_than_its_tract_is_an_opening_in_it(kart):
    assert kart.engine.venturi_m is None
    narrow = built(edited(("carburettor_bore_mm = 24.0", "carburettor_bore_mm = 20.0")))
    assert narrow.engine.venturi_m == pytest.approx(0.020)
    assert taken(narrow)["carburettor bore"] == 20.0


def test_squish_shortens_the_burn_and_is_taken_as_usual_where_nobody_measured_it(reed, kart):
    for build, record in ((reed, edited(name=REED)), (kart, edited())):
        out = work_out(record, draws=0)
        ratio = out.value("squish_velocity_max_m_s") / out.value("mean_piston_speed_m_s")
        assert build.engine.squish_over_piston == pytest.approx(ratio, rel=1e-12)
    assert reed.engine.squish_over_piston > kart.engine.squish_over_piston
    burn = [tables_of(b.engine, 9000.0, 0.02, Conditions(), Knobs()).numbers[BURN_BASE_DEG] for b in (reed, kart)]
    assert burn[0] < burn[1] < 49.0
    bare = built(edited(("squish_inner_mm", "# ")))
    assert taken(bare)["squish velocity"] == bare.engine.squish_over_piston == 1.2


def test_a_throttle_is_asked_for_and_listed():
    half = build_of(work_out(edited(), draws=0), throttle=0.5)
    assert half.engine.throttle == taken(half)["throttle"] == 0.5


DISC = """[intake]
control = "rotary disc"
[intake.disc]
opens_deg_atdc = 230.0
closes_deg_atdc = 60.0
inlet_diameter_mm = 26.0
inlet_centre_radius_mm = 45.0
"""


def test_a_rotary_disc_opens_its_round_inlet():
    build = built(edited(('[intake]\ncontrol = "piston port"\n', DISC), ("airbox_cc = 900\n", ""),
                         ("carburettor_bore_mm = 24.0\n", "")))  # fmt: skip
    area = build.engine.intake_area_m2
    assert area.max() == pytest.approx(math.pi / 4 * 0.026**2)
    angles = np.linspace(0.0, 360.0, 721)
    assert set(angles[area > 0.0]) == {a for a in angles if a > 230.0 or a < 60.0}
    assert build.engine.reed is None


PIPE = edited().model_copy(update={"exhaust": None})
NOTHING = edited().model_copy(update={"intake": None})


@pytest.mark.parametrize(
    ("record", "lacks", "remedy"),
    [
        (PIPE, "no exhaust pipe", "measure each cone"),
        (NOTHING, "no intake", "say how the charge gets in"),
        (edited(("advance_deg = 18.0\n", "")), "no ignition advance", "timing light"),
        (edited(("volume_at_bdc_cc", "# ")), "crankcase volume", "fill the crankcase"),
        (edited().model_copy(update={"ports": edited().ports[1:]}), "no exhaust port", "measure its roof"),
        (edited().model_copy(update={"ports": edited().ports[:1]}), "no transfer port", "measure roof"),
        (edited().model_copy(update={"ports": edited().ports[:3]}), "no intake port", "skirt of the piston"),
    ],
)  # fmt: skip
def test_what_it_cannot_do_without_is_refused_with_how_to_get_it(record, lacks, remedy):
    with pytest.raises(CycleError) as refused:
        built(record)
    assert lacks in str(refused.value)
    assert remedy in str(refused.value)


@pytest.mark.parametrize("cooling", [*get_args(get_args(Cylinder.model_fields["cooling"].annotation)[0]), None])
def test_every_way_of_cooling_has_a_wall_temperature(cooling):
    change = ('cooling = "air"\n', f'cooling = "{cooling}"\n' if cooling else "")
    build = built(edited(change))
    assert taken(build)["cylinder wall"] == build.engine.cylinder_wall_k
    assert 400.0 < build.engine.cylinder_wall_k < 500.0


def test_one_cylinder_of_several_is_said():
    record = edited(("count = 1", "count = 2"), name=KART)
    assert built(record).left_out[0] == "1 of 2 cylinders: the figures are for one"
