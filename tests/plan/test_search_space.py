"""What is searched: tools, parts to keep, limits and metal, on the demonstration engine."""

import pytest

from scribeline.engine import judged_again
from scribeline.errors import SearchError
from scribeline.geometry.work_out import work_out
from scribeline.plan.limit_table import LimitTable, OneLimit
from scribeline.plan.operations import BY_KEY
from scribeline.plan.search import Amount, Option
from scribeline.plan.search_goals import goal_of, road_for, speeds_for
from scribeline.plan.search_space import (
    AS_IT_IS,
    CUTTING_TOOLS,
    NO_ENGINE,
    REACHES,
    beyond,
    group_of,
    lacking,
    metal_mm,
    space_for,
)
from scribeline.plan.steps import Step
from scribeline.plan.typed_gaskets import box_of
from tests.examples import KART, REED, edited

RECORD = edited(name=KART)
BOX = box_of("base 0.2 0.3, head 0.4")
SPACE = space_for(RECORD, BOX)
ROOF, DECK = "raise exhaust roof at exhaust", "deck barrel top"


def names(*args: object, **more: object) -> set[str]:
    return {one.name for one in space_for(RECORD, BOX, *args, **more).variables}  # type: ignore[arg-type]


def test_every_reach_is_of_an_operation_within_its_range() -> None:
    for key, reach in REACHES.items():
        amount = BY_KEY[key].amount
        if reach.most:
            assert amount is not None
            assert amount.low <= reach.low <= 0.0 < reach.least <= reach.most <= amount.high
        else:
            assert BY_KEY[key].choices is not None


def test_tools_decide() -> None:
    assert DECK in names()
    assert "deck barrel base" not in names()
    assert "deck barrel base" in names(("lathe",))
    assert ROOF not in names(("lathe",))
    assert "widen transfer at all transfers" in names(("die grinder", "right-angle handpiece"))
    assert "change ignition advance" in names(("timing light",))
    assert "swap base gasket" in names(())
    assert any("needs lathe" in one for one in SPACE.left_out)


def test_what_is_to_be_kept_is_kept() -> None:
    assert ROOF not in names(keep=("ports",))
    assert ROOF not in names(keep=("exhaust port",))
    assert ROOF not in names(keep=("exhaust",))
    assert "lower intake floor at intake" in names(keep=("ports",))
    assert not {one for one in names(keep=("pipe",)) if "pipe" in one}
    assert "swap base gasket" not in names(keep=("gaskets",))


@pytest.mark.parametrize(("tools", "keep"), [(("chisel",), ()), ((), ("gearbox",))])
def test_unknown_tools_and_parts_are_refused(tools: tuple[str, ...], keep: tuple[str, ...]) -> None:
    with pytest.raises(SearchError, match="accepted: "):
        space_for(RECORD, BOX, tools, keep)


def test_nothing_left_is_said() -> None:
    with pytest.raises(SearchError, match=r"nothing is left to search: .*to be kept"):
        space_for(RECORD, BOX, keep=("compression", "ports", "intake", "pipe", "ignition"))


def test_mixture_and_fuel_are_never_searched() -> None:
    everything = names(CUTTING_TOOLS)
    assert not {one for one in everything if "mixture" in one or "fuel" in one or "oil" in one}


def test_a_design_is_its_steps_in_the_order_of_work() -> None:
    steps = SPACE.steps({ROOF: 1.2, DECK: 0.4, "swap head gasket": "head 0.4", "change pipe length at header": -20.0})
    assert steps == (
        Step("swap head gasket", choice="head 0.4"),
        Step("deck barrel top", amount=0.4),
        Step("raise exhaust roof", "exhaust", 1.2),
        Step("change pipe length", "header", -20.0),
    )
    assert SPACE.steps({"swap head gasket": AS_IT_IS, DECK: 0.0}) == ()
    assert SPACE.built({}) == RECORD


def test_every_variable_can_be_done_to_its_end() -> None:
    """From one end of its range to the other each is a step that the engine allows by itself."""
    space = space_for(RECORD, BOX, CUTTING_TOOLS)
    for one in space.variables:
        ends = one.options[1:] if isinstance(one, Option) else [v for v in (one.low, one.most) if v]
        for end in ends:
            assert judged_again(space.built({one.name: end}))


def test_gaskets_leave_no_side_bare() -> None:
    for one in SPACE.variables:
        if isinstance(one, Option):
            assert "no gasket" not in one.options
            assert "fitted 1" not in one.options


def test_limits_are_kept_with_their_plus_minus() -> None:
    """Tightest 1.38 ± 0.043: 0.8 mm off leaves 0.58, which is 0.08 above the limit; 0.9 leaves 0.48, below it."""
    assert "squish_gap_min_mm" not in SPACE.passed({DECK: 0.8})
    passed = SPACE.passed({DECK: 0.9})
    width = work_out(RECORD).values["squish_gap_min_mm"].plus_minus
    assert passed["squish_gap_min_mm"] == pytest.approx(0.5 - 0.48 + width, abs=1e-6)
    # the mean 1.4275 ± 0.0247 less 0.45 is below 1.0, and with its +/- above
    wide = space_for(RECORD, BOX, mend=True).passed({DECK: 0.45})
    width = work_out(RECORD).values["squish_gap_mm"].plus_minus
    assert wide == {"squish_gap_mm": pytest.approx(1.4275 - 0.45 + width - 1.0, abs=1e-6)}


def test_a_limit_that_is_passed_today_may_stay_so_unless_it_is_to_be_mended() -> None:
    assert SPACE.before["squish_gap_mm"] > 0.4
    assert SPACE.passed({}) == {}
    assert "squish_gap_mm" in SPACE.passed({"swap head gasket": "fitted 1 + head 0.4"})
    mending = space_for(RECORD, BOX, mend=True)
    assert set(mending.passed({})) == {"squish_gap_mm"}
    assert mending.passed({DECK: 0.5}) == {}


def test_the_builders_limits_count() -> None:
    table = LimitTable(set=(OneLimit(name="blowdown_deg", low=25.0),))
    tighter = space_for(RECORD, BOX, table=table, mend=True)
    assert tighter.passed({DECK: 0.5})["blowdown_deg"] == pytest.approx(
        25.0 - 20.948 + (work_out(RECORD).values["blowdown_deg"].plus_minus or 0.0), abs=1e-2
    )


def test_what_no_engine_survives_is_refused() -> None:
    deep = space_for(edited(("gap_mm = 1.38", "gap_mm = 0.3"), ("gap_mm = 1.4", "gap_mm = 0.3"), name=KART), BOX)
    assert deep.passed({DECK: 1.0}) == {NO_ENGINE: 1.0}


def test_limits_of_what_an_engine_lacks_are_kept() -> None:
    out = work_out(edited(name=REED), draws=0)
    assert beyond(out, {})["intake_open_above_crown_mm"] <= 0.0


def test_metal_is_what_cannot_be_put_back() -> None:
    steps = (
        Step("swap head gasket", choice="head 0.4"), Step("deck barrel top", amount=0.4),
        Step("raise exhaust roof", "exhaust", 1.2), Step("change pipe length", "header", -20.0),
    )  # fmt: skip
    assert metal_mm(steps, RECORD) == 1.6


def test_groups() -> None:
    groups = {group_of(Step(key)) for key in REACHES}
    assert groups == {"compression", "ports", "intake", "pipe", "ignition"}
    assert group_of(Step("change gearing")) == "other"


def test_lacking_names_the_text_for_which_no_tool_will_do() -> None:
    assert lacking(("file or die grinder", "caliper"), ("die grinder",)) == []
    assert lacking(("glass plate and abrasive paper, or a lathe",), ("file",)) == [
        "glass plate and abrasive paper, or a lathe"
    ]


def test_only_straight_tubes_of_the_pipe_and_never_the_stinger() -> None:
    assert {one for one in names() if "pipe" in one} == {"change pipe length at header", "change pipe length at belly"}


# --- goals -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "merit", "band", "least"),
    [
        ("most", "peak_kw", None, None), ("pull=10.5", "low_nm", None, 10.5), ("top-speed", "top_km_h", None, None),
        ("8000:10500", "band_kw", (8000.0, 10500.0), None), ("8000:10500=12", "band_kw", (8000.0, 10500.0), 12.0),
    ],
)  # fmt: skip
def test_goals(typed: str, merit: str, band: object, least: object) -> None:
    got = goal_of(typed)
    assert (got.merit, got.band, got.least) == (merit, band, least)


@pytest.mark.parametrize(
    "typed", ["", "more", "most=", "most=x", "9000", "9000:8000", "100:200", "8000:99999", "most=-3"]
)
def test_other_goals_are_refused(typed: str) -> None:
    with pytest.raises(SearchError, match="accepted: most"):
        goal_of(typed)


def test_speeds_hold_the_band() -> None:
    over = speeds_for(goal_of("8000:12500"), RECORD)
    assert len(over.points) == 9
    assert over.points[0] <= over.low[0] < over.low[1] <= over.points[-1] == 12500.0
    assert over.band == (8000.0, 12500.0)
    assert speeds_for(goal_of("4500:9000"), RECORD).points[0] == 4500.0


def test_a_top_speed_needs_a_road() -> None:
    bare = edited(("mass_with_rider_kg = 152", ""), name=KART)
    with pytest.raises(SearchError, match="how crank speed becomes road speed"):
        road_for(goal_of("top-speed"), bare)
    assert road_for(goal_of("most"), bare) is None


def test_amounts_have_names_of_their_own() -> None:
    assert all(isinstance(one, Amount | Option) for one in SPACE.variables)
    assert len({one.name for one in SPACE.variables}) == len(SPACE.variables)
