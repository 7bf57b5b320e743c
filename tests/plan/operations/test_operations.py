"""Every operation: what it says of itself, what it does to both engines, and what it refuses."""

from contextlib import suppress
from math import pi, tan

import pytest

from scribeline.engine import EngineRecord, readings
from scribeline.errors import PlanError
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.plan.carry_out import carry_out, possible_for
from scribeline.plan.description import Operation, Possible
from scribeline.plan.limits import RING_ENDS, limits, simulated_limits, warnings
from scribeline.plan.operations import BY_KEY, all_operations
from scribeline.plan.operations.gaskets import stacks
from scribeline.plan.phrases import read_step
from scribeline.plan.steps import Step
from tests.plan.engines import AT_HAND, KART, REED, edited, one, value

# Details that have no usual value, fitting for either engine.
DETAILS = {
    "clock_deg": 60.0, "height_mm": 6.0, "below_exhaust_mm": 3.0, "below_transfers_mm": 1.0, "depth_mm": 2.0,
    "top_from_crown_mm": 30.0,
}  # fmt: skip
ISSUE = """swap base gasket, remove base gasket, swap head gasket, deck barrel top, deck barrel base, face head,
recut squish band angle, sink squish band, narrow squish band, open bowl, raise exhaust roof, lower exhaust floor,
square exhaust floor corners, widen exhaust, add auxiliary exhausts, raise transfer roof, widen transfer,
open boost port, lower intake floor, raise intake roof, widen intake, trim skirt, cut piston window, fit reed,
fit other reed block, fit other petals, fit other carburettor, change tract length, change pipe length,
swap pipe section, swap pipe, change ignition advance, change mixture, change fuel, change oil in petrol,
change gearing"""


def possibilities() -> list[tuple[str, Possible]]:
    return [(name, one) for name in (KART, REED) for one in possible_for(edited(name=name), AT_HAND)]


def step_of(one: Possible) -> Step:
    """A small step: half a millimetre of metal, or the first choice that is not fitted, or a tenth up the range."""
    operation, amount = one.operation, one.amount
    details = {d.key: DETAILS[d.key] for d in operation.details if d.usual is None and d.needed}
    size = None
    if amount is not None:
        size = min(0.5, amount.high) if amount.metal else max(amount.low, min(amount.high, 8.0))
    choice = next((name for name in one.choices if name not in ("no gasket", "fitted 1")), "") if one.choices else ""
    return Step(operation.key, one.target, size, choice or "".join(one.choices[:1]), tuple(sorted(details.items())))


def test_every_operation_is_there_once() -> None:
    assert list(BY_KEY) == ISSUE.replace("\n", " ").split(", ")


@pytest.mark.parametrize("operation", all_operations(), ids=lambda one: one.key)
def test_it_says_what_a_builder_must_know(operation: Operation) -> None:
    assert operation.what
    assert operation.tools
    assert operation.skill
    assert operation.undo
    assert operation.instructions
    if operation.amount is not None:
        assert operation.amount.low < operation.amount.high
        if operation.amount.metal:
            assert operation.amount.low == 0.0
            assert operation.instead
            assert any(one.measure for one in operation.instructions)


def test_both_engines_between_them_allow_every_operation() -> None:
    assert {one.operation.key for _, one in possibilities()} == set(BY_KEY)


@pytest.mark.parametrize(
    ("name", "possible"),
    possibilities(),
    ids=lambda one: one if isinstance(one, str) else f"{one.operation.key} {one.target}",
)
def test_it_changes_the_engine_and_the_engine_can_still_be_worked_out(name: str, possible: Possible) -> None:
    record = edited(name=name)
    after = carry_out(record, [step_of(possible)], AT_HAND)
    assert after != record
    assert work_out(after, draws=0).values


@pytest.mark.parametrize("operation", all_operations(), ids=lambda one: one.key)
def test_the_limits_it_must_respect_are_limits(operation: Operation) -> None:
    known = {limit.name for limit in (*limits(), *simulated_limits())} | {RING_ENDS}
    assert set(operation.limits) <= known


@pytest.mark.parametrize(
    ("name", "possible"),
    [(name, one) for name, one in possibilities() if one.amount and one.amount.metal],
    ids=lambda one: one if isinstance(one, str) else f"{one.operation.key} {one.target}",
)
def test_nothing_off_changes_nothing_and_less_than_nothing_is_refused(name: str, possible: Possible) -> None:
    record, step = edited(name=name), step_of(possible)
    same = carry_out(record, [Step(step.do, step.at, 0.0, step.choice, step.details)], AT_HAND)
    before, after = ({r.place: r.measured.value for r in readings(one)} for one in (record, same))
    assert after == pytest.approx(before, abs=1e-9)
    with pytest.raises(PlanError) as refused:
        carry_out(record, [Step(step.do, step.at, -0.1, step.choice, step.details)], AT_HAND)
    (problem,) = refused.value.problems
    assert problem.value == "-0.1"
    assert "metal does not grow back" in problem.remedy
    assert possible.operation.instead in problem.remedy


def _adverse(before: WorkedOut, after: WorkedOut) -> set[str]:
    """Limits that a change brings nearer, by the numbers of the card; those of rings by how many warnings there are."""
    found = set()
    for limit in limits(before.record):
        was, now = (out.values.get(limit.name) for out in (before, after))
        if now is None or now.value is None:
            continue
        if was is None or was.value is None:
            found.add(limit.name)
            continue
        by = now.value - was.value
        if (limit.high is not None and by > 1e-6) or (limit.low is not None and by < -1e-6):
            found.add(limit.name)
    rings = [sum(one.message.startswith("Ring end") for one in warnings(out)) for out in (before, after)]
    return found | ({RING_ENDS} if rings[1] > rings[0] else set())


def _sizes(one: Possible) -> list[float | None]:
    amount = one.amount
    if amount is None:
        return [None]
    return [amount.low + share * (amount.high - amount.low) for share in (0.03, 0.3, 0.55)]


@pytest.mark.parametrize("operation", all_operations(), ids=lambda one: one.key)
def test_whatever_limit_an_operation_brings_nearer_is_among_those_it_must_respect(operation: Operation) -> None:
    """By geometry, on both engines, each with the readings that some limits need, a little and a lot of it."""
    nearer: set[str] = set()
    for name in (KART, REED):
        record = edited(("mass_g = 1", "top_ring_from_crown_mm = 3\nmass_g = 1"), name=name)
        before = work_out(record, draws=0)
        for possible in possible_for(record, AT_HAND):
            if possible.operation is not operation:
                continue
            details = {d.key: DETAILS[d.key] for d in operation.details if d.usual is None and d.needed}
            for choice in possible.choices or ("",):
                for size in _sizes(possible):
                    step = Step(operation.key, possible.target, size, choice, tuple(sorted(details.items())))
                    with suppress(PlanError):
                        nearer |= _adverse(before, work_out(carry_out(record, [step], AT_HAND), draws=0))
    assert nearer <= set(operation.limits)


BACKWARDS = [(other, one) for one in all_operations() for other in one.backwards]


@pytest.mark.parametrize(("other", "operation"), BACKWARDS, ids=lambda one: one if isinstance(one, str) else "")
def test_work_named_the_other_way_round_would_add_metal_and_is_refused(other: str, operation: Operation) -> None:
    for refuse in (
        lambda: read_step(f"{other} at exhaust: 1 mm"),
        lambda: carry_out(edited(), [Step(other, "exhaust", 1.0)], AT_HAND),
    ):
        with pytest.raises(PlanError) as refused:
            refuse()
        (problem,) = refused.value.problems
        assert "metal does not grow back" in problem.remedy
        assert operation.instead in problem.remedy


def test_every_operation_that_takes_metal_off_a_part_knows_its_other_way_round() -> None:
    assert {one.key for one in all_operations() if one.amount and one.amount.metal and not one.backwards} == set()


def test_the_alternatives_at_hand_are_named_with_their_thickness() -> None:
    """0.25 mm of thin paper for 0.46 mm of today's."""
    with pytest.raises(PlanError, match=r"at hand for the base: thin paper \(-0\.21 mm\)"):
        one("deck barrel base: -0.2 mm")


def test_a_steeper_transfer_roof_needs_its_edge_raised() -> None:
    """From 8 to 20 deg, 0.4 mm up: 0.4 / (tan 20 - tan 8) = 1.79 mm deep; with nothing up it would add metal."""
    after = one("raise transfer roof at main transfer: 0.4 mm, roof_angle_deg 20")
    assert next(port for port in after.ports if port.name == "main transfer").roof_angle_deg.value == 20.0  # type: ignore[union-attr]
    with pytest.raises(PlanError, match=r"only 0\.9 mm deep"):
        one("raise transfer roof at main transfer: 0.2 mm, roof_angle_deg 20")
    with pytest.raises(PlanError, match="metal does not grow back"):
        one("raise transfer roof at main transfer: 0 mm, roof_angle_deg 20")
    one("raise transfer roof at main transfer: 0 mm, roof_angle_deg 0")  # flatter: metal comes off the passage


# --- by hand ---------------------------------------------------------------------------------------------------------


def test_decking_the_top_lowers_the_deck_onto_the_ports() -> None:
    """0.4 mm of a bore of 50 are 0.7854 cc; the exhaust's roof is nearer the deck, and no angle moves."""
    before, after = edited(), one("deck barrel top: 0.4 mm")
    assert value(after, "squish_gap_mm") == pytest.approx(value(before, "squish_gap_mm") - 0.4)
    assert value(after, "clearance_volume_cc") == pytest.approx(
        value(before, "clearance_volume_cc") - 0.785398, abs=1e-6
    )
    assert after.ports[0].roof_from_deck_mm is not None
    assert after.ports[0].roof_from_deck_mm.value == pytest.approx(28.7)
    assert value(after, "exhaust_duration_deg") == pytest.approx(value(before, "exhaust_duration_deg"), abs=1e-9)


def test_facing_the_head_leaves_every_port_and_lowers_the_band() -> None:
    before, after = edited(), one("face head: 0.3 mm")
    assert after.ports == before.ports
    for name, by in (("squish_gap_mm", -0.3), ("clearance_volume_cc", -0.3 * pi / 4 * 2.5)):
        assert value(after, name) == pytest.approx(value(before, name) + by, abs=1e-6)
    assert after.head.band_recess_mm is not None
    assert after.head.band_recess_mm.value == pytest.approx(-0.2)


def test_two_ways_to_the_chamber_agree_as_well_after_each_cut_in_the_head() -> None:
    for step in (
        "face head: 0.3 mm", "recut squish band angle: 12 deg", "recut squish band angle: 5 deg", "open bowl: 0.6 cc",
        "sink squish band: 0.2 mm", "narrow squish band: 3 mm, depth_mm 2", "deck barrel top: 0.3 mm",
    ):  # fmt: skip
        differ = [
            [a.difference for a in work_out(record, draws=0).agreements if a.first == "clearance_on_engine_cc"]
            for record in (edited(), one(step))
        ]
        assert len(differ[0]) == 1
        assert differ[1] == pytest.approx(differ[0], abs=1e-6), step


def test_a_steeper_band_keeps_its_outer_edge_and_a_flatter_one_sinks_it() -> None:
    """From 9 to 12 degrees the outer edge stays. From 9 to 5 it is cut down by 8 mm · (tan 9° - tan 5°) = 0.567 mm."""
    steeper, flatter = one("recut squish band angle: 12 deg"), one("recut squish band angle: 5 deg")
    gap = value(edited(), "squish_gap_mm")
    assert value(steeper, "squish_gap_mm") == pytest.approx(gap)
    assert value(flatter, "squish_gap_mm") == pytest.approx(gap + 8.0 * (tan(0.05 * pi) - tan(pi / 36.0)))
    for cut in (steeper, flatter):
        assert value(cut, "clearance_volume_cc") > value(edited(), "clearance_volume_cc")


def test_a_band_narrower_by_a_ring() -> None:
    """A ring from 34 to 37 mm, 2 mm deep: π/4 · (37² - 34²) · 2 = 334.6 mm³."""
    after = one("narrow squish band: 3 mm, depth_mm 2")
    assert value(after, "clearance_volume_cc") == pytest.approx(11.0 + 0.334580, abs=1e-6)


def test_a_chamber_known_by_its_shape_only_is_filled_before_it_is_cut() -> None:
    shape = '\n[head.shape]\nkind = "bowl"\ndepth_mm = 10\nmouth_diameter_mm = 34\nfloor_diameter_mm = 25\n[squish]'
    record = edited(
        ('chamber_on_bench_cc = { value = 10.6, plus_minus = 0.15, with = "burette" }\n', ""),
        ('clearance_on_engine_cc = { value = 12.6, plus_minus = 0.25, with = "burette" }', ""),
        ("[squish]", shape),
    )
    with pytest.raises(PlanError, match="fill the head from a burette"):
        one("sink squish band: 0.2 mm", record)


def test_gaskets_are_taken_from_what_is_at_hand_and_no_more_than_there_are() -> None:
    """0.70 fitted, 0.40 twice at hand: the engine comes down by 0.3, or up by 0.1."""
    thin = one('swap head gasket: "thin copper"')
    assert value(thin, "squish_gap_mm") == pytest.approx(value(edited(), "squish_gap_mm") - 0.3)
    both = one('swap head gasket: "thin copper + thin copper"')
    assert value(both, "squish_gap_mm") == pytest.approx(value(edited(), "squish_gap_mm") + 0.1)
    assert len(stacks(edited(), "head", AT_HAND)) == 6  # none, each of 2, 2 pairs and 1 of three sheets
    with pytest.raises(PlanError, match="3 of thin copper is not at hand"):
        one('swap head gasket: "thin copper + thin copper + thin copper"')


def test_a_gasket_put_back_gives_the_engine_back() -> None:
    record = edited()
    there = one('swap base gasket: "thin paper"', record)
    assert value(there, "exhaust_duration_deg") < value(record, "exhaust_duration_deg")
    old = AT_HAND.model_copy(
        update={"gaskets": tuple(g.model_copy(update={"nominal_mm": record.gaskets.base[0].nominal_mm,
                                                      "compressed_mm": record.gaskets.base[0].compressed_mm,
                                                      "material": "paper"}) for g in AT_HAND.gaskets[:1])}
    )  # fmt: skip
    back = one('swap base gasket: "thin paper"', there, old)
    assert back.gaskets == record.gaskets
    before, after = ({r.place: r.measured.value for r in readings(one)} for one in (record, back))
    assert after == pytest.approx(before, abs=1e-9)


def test_without_its_base_gasket_the_barrel_comes_down_by_it() -> None:
    after = one("remove base gasket at fitted 1")
    assert after.gaskets.base == ()
    for name, by in (("squish_gap_mm", -0.46), ("deck_clearance_mm", -0.46), ("ports.exhaust.roof_depth_mm", 0.46)):
        assert value(after, name) == pytest.approx(value(edited(), name) + by)


def test_a_trimmed_skirt_is_lighter_and_opens_the_intake_for_longer() -> None:
    """1 mm off, 2 mm thick, a third of the way round a bore of 50, at 2.7 g/cm³: 0.283 g. The degrees of travel
    follow the skirt: the record's own wheel readings of the intake go on agreeing with its heights."""
    before, after = edited(), one("trim skirt at intake side: 1 mm")
    assert after.piston.mass_g is not None
    assert after.piston.mass_g.value == pytest.approx(148.0 - 0.0027 * pi * 50.0 / 3.0 * 2.0)
    assert value(after, "intake_travel_mm") == pytest.approx(value(before, "intake_travel_mm") + 1.0)
    differ = [
        [a.difference for a in work_out(record, draws=0).agreements if a.label.startswith("intake")]
        for record in (before, after)
    ]
    assert len(differ[0]) == 1
    assert differ[1] == pytest.approx(differ[0], abs=1e-6)
    assert one("trim skirt at exhaust side: 1 mm").ports == before.ports


def test_a_window_and_a_cut_out_in_the_piston() -> None:
    window = one("cut piston window: 20 mm, clock_deg 90, top_from_crown_mm 30, bottom_from_crown_mm 40")
    assert [(o.name, o.bottom_from_crown_mm is None) for o in window.piston.openings] == [("window", False)]
    cut_out = one("cut piston window: 20 mm, clock_deg 180, top_from_crown_mm 45", window)
    assert [o.name for o in cut_out.piston.openings] == ["window", "window 2"]
    assert value(cut_out, "intake_travel_mm") == pytest.approx(value(edited(), "intake_travel_mm") + 7.0)


def test_new_ports_stand_where_they_were_asked_for() -> None:
    side = one("add auxiliary exhausts: 6 mm, below_exhaust_mm 3, clock_deg 50, height_mm 8")
    new = side.ports[-1]
    assert (new.name, new.role, new.mirrored) == ("side exhaust", "auxiliary exhaust", True)
    assert value(side, "ports.side exhaust.roof_depth_mm") == pytest.approx(28.48 + 3.0)
    boost = one("open boost port: 12 mm, below_transfers_mm 1, height_mm 10", side)
    assert (boost.ports[-1].role, boost.ports[-1].clock_deg.value, boost.ports[-1].mirrored) == ("boost", 180.0, False)
    assert value(boost, "ports.boost.roof_depth_mm") == pytest.approx(36.98 + 1.0)


def test_a_piston_port_becomes_a_reed_and_keeps_its_window() -> None:
    after = one('fit reed: "four petals"')
    assert after.intake is not None
    assert after.intake.control == "reed"
    assert after.intake.reed is not None
    assert after.intake.reed.petals == 4
    assert [port.role for port in after.ports] == [port.role for port in edited().ports]


def test_pipe_and_tract_keep_the_rest_of_themselves() -> None:
    record = edited()
    longer = one("change pipe length at header: 40 mm", one("change tract length at manifold: -10 mm", record))
    assert value(longer, "pipe_length_mm") == pytest.approx(1040.0 + 40.0)
    assert longer.intake is not None
    assert [s.length_mm.value for s in longer.intake.tract] == [50.0, 75.0]
    swapped = one('swap pipe section at stinger: "wide stinger"', longer)
    assert value(swapped, "stinger_share_of_header") == pytest.approx(24.0 / 34.0)
    assert value(one('swap pipe: "short pipe"'), "pipe_length_mm") == 700.0
    carburettor = one('fit other carburettor: "28"')
    assert carburettor.intake is not None
    assert carburettor.intake.tract[1].start_mm.value == 28.0
    with pytest.raises(PlanError, match=r"accepted: -239\.5 to 800 mm"):
        one("change pipe length at header: -240 mm")


def test_what_is_set_rather_than_cut() -> None:
    for text, where, what in (
        ("change ignition advance: -2 deg", lambda r: r.ignition.advance_deg.value, 16.0),
        ("change mixture: 12.2", lambda r: r.fuel.air_per_fuel.value, 12.2),
        ("change fuel: 102", lambda r: r.fuel.octane_ron.value, 102.0),
        ("change oil in petrol: 33", lambda r: r.fuel.petrol_per_oil.value, 33.0),
        ("change gearing: 6.4", lambda r: r.drivetrain.final_drive_ratio.value, 6.4),
    ):
        assert where(one(text)) == pytest.approx(what), text
    table = one("change ignition advance: 2 deg", edited(name=REED)).ignition.table
    assert [point.advance_deg for point in table] == [16, 26, 22, 18, 12]


def test_a_base_gasket_more_moves_everything_the_way_the_trade_says() -> None:
    """tests/reference/02, geo-rule-directions: longer exhaust and transfer, shorter intake, less compression, wider."""
    thick = AT_HAND.model_copy(update={"gaskets": (AT_HAND.gaskets[0].model_copy(update={"count": 2}),)})
    before, after = edited(), one('swap base gasket: "fitted 1 + thin paper"', None, thick)
    for name, sign in (
        ("exhaust_duration_deg", 1), ("transfer_duration_deg", 1), ("intake_duration_deg", -1),
        ("compression_ratio_geometric", -1), ("squish_gap_mm", 1),
    ):  # fmt: skip
        assert sign * (value(after, name) - value(before, name)) > 0.0, name
    raised: EngineRecord = one("raise exhaust roof at exhaust: 1 mm")
    assert value(raised, "trapped_volume_cc") < value(before, "trapped_volume_cc")
