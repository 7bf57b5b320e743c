"""Finding plans: the machinery on a simulator that is a formula, and the real one against trying everything.

The formula gives a flat curve whose height is known from the record by hand, so that every gain, share and choice can
be worked out beside it.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from scribeline.cycle.simulate import Settings
from scribeline.engine import EngineRecord
from scribeline.errors import SearchError
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.plan import search, search_finalists, search_judging, search_plans
from scribeline.plan.carry_out import carry_out
from scribeline.plan.limit_table import LimitTable, OneLimit
from scribeline.plan.merits import Speeds, Swept, merits_of, sweep_many
from scribeline.plan.search import Amount, Design, Found, Refused, Tried
from scribeline.plan.search_finalists import by_hand, choose, pruned, still_apart, worth_their_metal
from scribeline.plan.search_goals import goal_of
from scribeline.plan.search_judging import Conflict, PlanSearch
from scribeline.plan.search_plans import Searched, find_plans, purpose, starts
from scribeline.plan.search_space import Space, space_for
from scribeline.plan.search_words import careful, conflict_words, explained, verdict
from scribeline.plan.steps import Step
from scribeline.plan.typed_gaskets import box_of
from tests.examples import KART, edited

RECORD = edited(name=KART)
BOX = box_of("base 0.2, head 0.4")
SPACE = space_for(RECORD, BOX, keep=("intake", "pipe", "head"))
ROOF = "raise exhaust roof at exhaust"
OVER = Speeds((8000.0, 9000.0, 10000.0), (8000.0, 10000.0), (8000.0, 9000.0))
GOAL = goal_of("8000:10000")


def height(record: EngineRecord) -> float:
    """Of the formula: 1 kW for each degree of blowdown (no more than 26), 2 for each mm that the squish is narrower."""
    out = work_out(record, draws=0)
    blowdown, squish = out.value("blowdown_deg"), out.value("squish_gap_mm")
    assert blowdown is not None
    assert squish is not None
    return 10.0 + min(blowdown, 26.0) - 20.0 - 2.0 * squish


def formula(
    records: Iterable[EngineRecord | WorkedOut], points: Sequence[float], settings: object = None, **more: object
) -> Iterator[Swept]:
    for one in records:
        record = one.record if isinstance(one, WorkedOut) else one
        flat = np.ones(len(points))
        yield Swept(np.asarray(points), height(record) * flat, 80.0 * flat, 5.0 * flat, 700.0 * flat)


def refused(one: PlanSearch, design: Design) -> Found:
    """What a search holds that met nothing but this design."""
    verdict = one.looked_at(design)
    assert isinstance(verdict, Refused)
    return Found(refused=[verdict])


@pytest.fixture(autouse=True)
def _formula(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    if "real" not in request.fixturenames:
        for module in (search_judging, search_finalists, search_plans):
            monkeypatch.setattr(module, "sweep_many", formula)


@pytest.fixture
def real() -> None:
    """Asks for the simulator itself."""


@pytest.fixture(scope="module")
def found() -> Searched:
    with pytest.MonkeyPatch.context() as patched:
        for module in (search_judging, search_finalists, search_plans):
            patched.setattr(module, "sweep_many", formula)
        return find_plans(SPACE, GOAL, evaluations=110, speeds=OVER, draws=3, most_plans=5)


def test_plans_gain_what_the_formula_says(found: Searched) -> None:
    for plan in found.plans:
        after = height(found.space.built(plan.design))
        assert plan.gain == pytest.approx(after - height(RECORD))
        assert plan.of_gain == pytest.approx(plan.gain / max(one.gain for one in found.plans))
        assert plan.merits["band_kw"] == pytest.approx(after)
        assert plan.gain > 0.0


def test_the_gentlest_comes_first_and_none_is_beaten(found: Searched) -> None:
    assert 2 <= len(found.plans) <= 8
    metal = [plan.metal_mm for plan in found.plans]
    assert metal == sorted(metal)
    assert metal[0] == 0.0  # gaskets alone narrow the squish
    gains = [plan.gain for plan in found.plans]
    assert gains == sorted(gains)


def test_the_best_does_what_pays_in_the_formula_and_nothing_else(found: Searched) -> None:
    assert found.best is not None
    done = {step.do for step in found.best.steps}
    assert "raise exhaust roof" in done
    assert not done & {"widen exhaust", "lower exhaust floor"}  # in the formula they bring nothing


def test_limits_hold_for_every_plan(found: Searched) -> None:
    for plan in found.plans:
        assert found.space.passed(plan.design) == {}
        tightest = work_out(found.space.built(plan.design), draws=0).value("squish_gap_min_mm")
        assert tightest is not None
        assert tightest > 0.5


def test_what_each_thing_brings_is_what_goes_without_it(found: Searched) -> None:
    for plan in found.plans:
        for name, lost in plan.lost.items():
            rest = {key: value for key, value in plan.design.items() if key != name}
            assert lost == pytest.approx(
                height(found.space.built(plan.design)) - height(found.space.built(rest)), abs=0.3
            )


def test_made_by_hand_it_comes_out_near_and_the_least_is_told(found: Searched) -> None:
    for plan in found.plans:
        assert plan.tolerance.drawn == 3
        assert plan.least_gain <= plan.most_gain
        # 0.2 mm of exhaust roof is about 0.9° of blowdown
        assert abs(plan.least_gain - plan.gain) < 1.5
    cut = [plan for plan in found.plans if any("raise" in step.do for step in plan.steps)]
    assert all(plan.least_gain < plan.most_gain for plan in cut)


def test_the_same_seed_finds_the_same_plans(found: Searched) -> None:
    again = find_plans(SPACE, GOAL, evaluations=110, speeds=OVER, draws=3, most_plans=5)
    assert [plan.steps for plan in again.plans] == [plan.steps for plan in found.plans]


def test_every_plan_is_explained_in_two_sentences_of_its_own_figures(found: Searched) -> None:
    for plan in found.plans:
        first, second = explained(plan, found)
        for sentence in (first, second):
            assert sentence[0].isupper()
            assert sentence.endswith(".")
            assert ". " not in sentence
        assert f"{height(RECORD):.2f} to {plan.merits['band_kw']:.2f} kW" in first
        assert ("no metal comes off" in first) is (plan.metal_mm == 0.0)
        squish = work_out(found.space.built(plan.design), draws=0).value("squish_gap_mm")
        if "squish_gap_mm" in plan.geometry:
            assert f"squish 1.43 to {squish:.2f} mm" in second
        assert "made 3 times by hand" in second
    shares = [plan for plan in found.plans if plan is not found.best]
    assert all(f"{100 * plan.of_gain:.0f} % of the most" in explained(plan, found)[0] for plan in shares)


def test_what_a_plan_brings_beside_its_goal_is_told(found: Searched) -> None:
    assert found.best is not None
    before = found.before["low_nm"]
    for share, said in ((1.05, "; it brings 5 % more pull low down"), (1.005, ""), (0.9, "")):
        plan = replace(found.best, merits={**found.best.merits, "low_nm": share * before})
        second = explained(plan, found)[1]
        assert said in second
        assert ("it brings" in second) is bool(said)


def test_cautions_stand_beside_what_calls_for_them(found: Searched) -> None:
    for plan in found.plans:
        keys = careful(plan, found)
        before, after = plan.geometry.get("compression_ratio_trapped", (0.0, 0.0))
        assert ("knock-seizure" in keys) is (after > before)
        assert ("irreversible" in keys) is (plan.metal_mm > 0.0)
    assert found.best is not None
    faster = replace(found.best, merits={**found.best.merits, "middle_rpm": found.before["middle_rpm"] + 500.0})
    assert "rpm-limit" in careful(faster, found)


def test_a_goal_out_of_reach_says_the_best_that_was_found(found: Searched) -> None:
    far = replace(found, goal=replace(found.goal, least=99.0))
    best = max(plan.merits["band_kw"] for plan in found.plans)
    assert verdict(far).startswith("99 kW is out of reach")
    assert f"{best:.2f} kW" in verdict(far)
    assert "out of reach" not in verdict(found)


def test_where_nothing_pays_that_is_said() -> None:
    none = find_plans(
        space_for(RECORD, BOX, keep=("compression", "ports", "intake")), GOAL, evaluations=20, speeds=OVER, draws=2
    )
    assert none.plans == ()
    assert "Nothing that was tried does clearly better" in verdict(none)


def test_limits_that_conflict_are_named_with_the_least_that_would_do(monkeypatch: pytest.MonkeyPatch) -> None:
    """Blowdown of 30° at least with the exhaust kept: only the base gasket moves it, and that is 0.2 mm thin."""
    monkeypatch.setattr(search, "MOST_IDLE_GENERATIONS", 3)
    table = LimitTable(set=(OneLimit(name="blowdown_deg", low=30.0),))
    space = space_for(RECORD, BOX, keep=("ports", "intake", "pipe"), mend=True, table=table)
    none = find_plans(space, GOAL, evaluations=60, speeds=OVER, draws=2)
    assert none.plans == ()
    assert none.evaluated == 0
    least = none.conflicts[0]
    assert set(least.passed) == {"blowdown_deg"}
    width = work_out(RECORD).values["blowdown_deg"].plus_minus or 0.0
    after = work_out(carry_out(RECORD, least.steps, BOX), draws=0).value("blowdown_deg")
    assert after is not None
    assert least.passed["blowdown_deg"] == pytest.approx(30.0 - after + width, abs=1e-6)
    assert " gives by " in conflict_words(least, none)
    assert verdict(none).startswith("No design that was tried keeps all limits. The least that would do: blowdown")


def test_the_least_that_would_do_holds_nothing_needless_and_no_step_less_would_do_better() -> None:
    """Squish of 0.9 mm at its tightest and no more than 0.92 mm in the mean: the +/- alone are wider than that.

    Against every depth of the only cut that moves the gap, of those that pass the one limit and not the other.
    """
    table = LimitTable(set=(OneLimit(name="squish_gap_min_mm", low=0.9), OneLimit(name="squish_gap_mm", high=0.92)))
    space = space_for(RECORD, keep=("intake", "pipe", "gaskets", "barrel"), mend=True, table=table)
    one = PlanSearch(space, GOAL, OVER, None)
    deep = {"face head": 0.3, "raise exhaust roof at exhaust": 1.2, "widen exhaust at exhaust": 0.8}
    (found,) = one.met(refused(one, deep))
    least = one.least(found)
    every = [space.passed({"face head": round(0.05 * k, 9)}) for k in range(21)]
    alike = [passed["squish_gap_mm"] for passed in every if set(passed) == {"squish_gap_mm"}]
    assert least.passed == {"squish_gap_mm": pytest.approx(min(alike), abs=1e-9)}
    assert [step.do for step in least.steps] == ["face head"]


def test_of_several_sets_of_limits_the_smallest_is_told_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hand-worked shares of the bounds decide, not millimetres against degrees.

    The squish is 0.88 mm past its bound of 0.5 (176 %), the trapped compression 0.6 past 6.0 (10 %); a hundredth of
    both is less than either (2 % and 0.17 %). What holds another set and asks for more than it is not told.
    """
    table = LimitTable(set=(OneLimit(name="squish_gap_min_mm", low=0.5), OneLimit(name="compression_ratio_trapped",
                                                                                   high=6.0)))  # fmt: skip
    one = PlanSearch(space_for(RECORD, BOX, table=table), GOAL, OVER, None)
    met = [Conflict(passed, ()) for passed in (
        {"squish_gap_min_mm": 0.88},
        {"compression_ratio_trapped": 0.6},
        {"compression_ratio_trapped": 0.6, "blowdown_deg": 1.0},
        {"squish_gap_min_mm": 0.01, "compression_ratio_trapped": 0.01},
    )]  # fmt: skip
    assert one.share(Conflict({"compression_ratio_trapped": 0.6}, ())) == pytest.approx(0.1)
    monkeypatch.setattr(PlanSearch, "least", lambda self, conflict: conflict)
    monkeypatch.setattr(search_judging, "smallest_relaxation", lambda *a, **b: None)
    assert [dict(conflict.passed) for conflict in one.smallest_conflicts(met, most=5)] == [
        {"squish_gap_min_mm": 0.01, "compression_ratio_trapped": 0.01},
        {"compression_ratio_trapped": 0.6},
        {"squish_gap_min_mm": 0.88},
    ]


def test_what_gives_is_told_in_its_unit(found: Searched) -> None:
    words = conflict_words(Conflict({"compression_ratio_trapped": 0.1234, "blowdown_deg": 2.0}, ()), found)
    assert "compression ratio from exhaust closing gives by 0.123 and " in words
    assert "gives by 2°" in words
    nothing = Conflict({}, (Step("face head", amount=0.3),))
    assert "by geometry nothing has to give, with: face head: 0.3 mm" in conflict_words(nothing, found)


def test_a_design_that_keeps_all_limits_is_told_where_the_search_did_not_meet_it() -> None:
    one = PlanSearch(space_for(RECORD, BOX, mend=True), GOAL, OVER, None)
    met = one.met(refused(one, {}))  # the squish is too wide as it is
    assert met
    (told,) = one.smallest_conflicts(met)
    assert told.passed == {}
    assert one.space.passed(told.design) == {}
    met.append(Conflict({"knock_margin_octane": 3.0}, ()))
    assert {"knock_margin_octane"} in [set(conflict.passed) for conflict in one.smallest_conflicts(met)]


def test_the_smallest_relaxation_does_not_hang_on_what_the_search_happened_to_meet() -> None:
    """Squish of 0.9 to 0.92 mm, less than its +/-: met was only a cut far off; told is the best of all."""
    table = LimitTable(set=(OneLimit(name="squish_gap_min_mm", low=0.9), OneLimit(name="squish_gap_mm", high=0.92)))
    space = space_for(RECORD, keep=("intake", "pipe", "gaskets", "barrel", "ports"), mend=True, table=table)
    one = PlanSearch(space, GOAL, OVER, None)
    met = one.met(refused(one, {"face head": 0.1}))
    every = [Conflict(space.passed({"face head": round(0.05 * k, 9)}), ()) for k in range(17)]
    told = one.smallest_conflicts(met)
    assert one.share(told[0]) == pytest.approx(min(one.share(conflict) for conflict in every), abs=1e-9)
    # beside it, what each of the two limits would have to give alone
    alone = {name: min(one.share(c) for c in every if set(c.passed) == {name}) for name in told[0].passed}
    for conflict in told[1:]:
        (name,) = conflict.passed
        assert one.share(conflict) == pytest.approx(alone[name], abs=1e-9)


def test_the_builders_limit_on_knock_counts_in_the_search() -> None:
    """The formula's engines all have 5 octane to spare."""
    merits = {"octane_margin": 5.0, "middle_rpm": 9000.0}

    def over(table: LimitTable, record: EngineRecord = RECORD) -> tuple[float, float, float]:
        one = PlanSearch(space_for(RECORD, BOX, table=table), GOAL, OVER, None)
        one.quick_before.update(octane_margin=9.0, middle_rpm=8000.0)
        return one.simulated_limits(record, merits)

    assert max(over(LimitTable())) <= 0.0
    assert over(LimitTable(set=(OneLimit(name="knock_margin_octane", low=7.0),)))[0] == pytest.approx(2.0)
    assert over(LimitTable(set=(OneLimit(name="knock_margin_octane", off=True),)))[0] < -1e9
    # 2 * 50 mm * 9000/60 = 15 m/s
    assert over(LimitTable(set=(OneLimit(name="mean_piston_speed_m_s", high=14.0),)))[1] == pytest.approx(1.0)
    slow = edited(("clutch_engages_rpm = 4200", "clutch_engages_rpm = 4200\nredline_rpm = 8700"))
    assert over(LimitTable(), slow)[2] == pytest.approx(300.0)
    assert over(LimitTable(set=(OneLimit(name="speed_under_redline_rpm", off=True),)), slow)[2] < -1e9


def test_where_only_the_simulator_refuses_it_is_named() -> None:
    table = LimitTable(set=(OneLimit(name="knock_margin_octane", low=30.0),))
    one = PlanSearch(space_for(RECORD, BOX, table=table), GOAL, OVER, None)
    one.quick_before.update(octane_margin=40.0, middle_rpm=9000.0)
    (curve,) = formula([RECORD], OVER.points)  # 5 octane to spare
    tried = one.judged({}, RECORD, curve)
    assert not tried.allowed
    (conflict,) = one.met(Found(tried=[tried]))
    assert conflict.passed == {"knock_margin_octane": pytest.approx(25.0)}


def test_the_least_that_a_simulated_limit_asks_for_is_looked_for_beside_what_was_met() -> None:
    """Knock passed by 1 octane at a cut of 0.35 mm and by 10 more for each millimetre off it, 2 more with the roof up.

    Met was a cut of 0.7 mm with the roof up: 6.5 octane. Every depth of the cut, one after the other, is the check.
    """
    one = PlanSearch(space_for(RECORD, keep=("intake", "pipe", "gaskets", "barrel")), GOAL, OVER, None)
    simulated = 0

    def octane(design: Mapping[str, float | str]) -> float:
        roof = float(design.get("raise exhaust roof at exhaust", 0.0))
        return 1.0 + 10.0 * abs(float(design.get("face head", 0.0)) - 0.35) + 2.0 * (roof > 0.0)

    def judge(designs: Sequence[Design], most: int) -> Iterator[tuple[int, Tried]]:
        nonlocal simulated
        for number, design in list(enumerate(designs))[:most]:
            simulated += 1
            yield number, Tried(design, (0.0,), (octane(design), -1.0, -1.0), {GOAL.merit: 9.0})

    far: dict[str, float | str] = {"face head": 0.7, "raise exhaust roof at exhaust": 1.2}
    met = Conflict({"knock_margin_octane": octane(far)}, one.space.steps(far), far)
    least = one.least_simulated(met, judge)
    every = min(octane({"face head": round(0.05 * k, 9)}) for k in range(21))
    assert least.passed == {"knock_margin_octane": pytest.approx(every)}
    assert [(step.do, step.amount) for step in least.steps] == [("face head", pytest.approx(0.35))]
    assert simulated <= 120
    # with a budget of 5 no more than 5 are simulated, and nothing becomes worse
    simulated = 0
    short = one.least_simulated(met, judge, most=5)
    assert simulated == 5
    assert short.passed["knock_margin_octane"] <= met.passed["knock_margin_octane"]
    assert one.least_simulated(met, None).passed == met.passed


def test_an_interrupted_search_keeps_the_best_so_far(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    told: list[int] = []

    def interrupt(what: str, done: int, count: int, best: str) -> None:
        told.append(done)
        if what == "searching" and done == 30:
            raise KeyboardInterrupt

    journal = tmp_path / "search.json"
    space = space_for(RECORD, BOX, keep=("intake", "pipe", "head", "gaskets"))
    stopped = find_plans(space, GOAL, evaluations=60, speeds=OVER, draws=2, journal=journal, progress=interrupt)
    assert not stopped.finished
    assert stopped.plans
    went_on = find_plans(space, GOAL, evaluations=60, speeds=OVER, draws=2, journal=journal)
    whole = find_plans(space, GOAL, evaluations=60, speeds=OVER, draws=2)
    assert went_on.finished
    assert [(plan.steps, plan.gain) for plan in went_on.plans] == [(plan.steps, plan.gain) for plan in whole.plans]
    with pytest.raises(SearchError, match="journal of another search"):
        find_plans(space, goal_of("pull"), evaluations=60, speeds=OVER, journal=journal)


def test_an_engine_without_a_curve_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    def silent(records: Sequence[EngineRecord], points: Sequence[float], *a: object, **b: object) -> Iterator[Swept]:
        nothing = np.full(len(points), np.nan)
        yield Swept(np.asarray(points), nothing, nothing, nothing, nothing, ("no exhaust pipe in the record",))

    monkeypatch.setattr(search_plans, "sweep_many", silent)
    with pytest.raises(SearchError, match=r"today's engine gives no curve .*no exhaust pipe"):
        find_plans(space_for(RECORD, BOX), GOAL, speeds=OVER)


def test_the_purpose_of_a_journal_is_all_that_matters() -> None:
    one = PlanSearch(space_for(RECORD, BOX), GOAL, OVER, None)
    other = PlanSearch(space_for(RECORD, BOX, keep=("pipe",)), GOAL, OVER, None)
    assert purpose(one, 1) == purpose(PlanSearch(space_for(RECORD, BOX), GOAL, OVER, None), 1)
    assert len({purpose(one, 1), purpose(one, 2), purpose(other, 1)}) == 3


def test_first_designs_hold_the_gentlest_squish_and_each_thing_alone() -> None:
    space = space_for(RECORD, BOX)
    first = starts(space)
    assert first[0] == {}
    mending = space_for(RECORD, BOX, mend=True)
    for one in space.variables:
        assert any(set(design) == {one.name} for design in first)
        if isinstance(one, Amount) and one.low < 0.0:  # a pipe is cut shorter as well as made longer
            assert {one.low, one.most} <= {design[one.name] for design in first if set(design) == {one.name}}
    set_right = [design for design in first[:5] if design and mending.passed(design) == {}]
    assert set_right


def test_a_hand_is_off_by_its_tolerance_and_never_adds_metal() -> None:
    steps = (
        Step("raise exhaust roof", "exhaust", 0.1),
        Step("swap pipe", choice="x"),
        Step("change gearing", amount=6.0),
    )
    made = [by_hand(steps, np.random.default_rng(seed)) for seed in range(400)]
    amounts = np.array([one[0].amount for one in made], float)
    assert amounts.min() == 0.0
    assert amounts[amounts > 0.0].max() < 0.1 + 0.5
    wide = [
        by_hand((Step("raise exhaust roof", "exhaust", 2.0),), np.random.default_rng(k))[0].amount for k in range(400)
    ]
    assert np.std(np.array(wide, float)) == pytest.approx(0.1, rel=0.15)
    assert all(one[1:] == steps[1:] for one in made)


def test_what_brings_nothing_is_left_out_and_what_limits_need_stays() -> None:
    """The exhaust pays, its width does not; the gasket sets the squish that is to be mended, whatever it brings."""
    space = space_for(RECORD, BOX, keep=("intake", "pipe", "head"), mend=True)
    one = PlanSearch(space, GOAL, OVER, None, quick_before={"band_kw": height(RECORD)})
    design: dict[str, float | str] = {v.name: 0.0 if isinstance(v, Amount) else "as it is" for v in space.variables}
    design |= {"raise exhaust roof at exhaust": 1.0, "widen exhaust at exhaust": 2.0, "deck barrel top": 0.5}
    ((_, tried),) = one.judge([design], 1)
    assert isinstance(tried, Tried)
    ((kept, lost),) = pruned(one, [tried])
    assert kept.design == {**design, "widen exhaust at exhaust": 0.0}
    assert set(lost) == {"raise exhaust roof at exhaust"}
    without = {**design, "raise exhaust roof at exhaust": 0.0}
    assert lost["raise exhaust roof at exhaust"] == pytest.approx(
        height(space.built(design)) - height(space.built(without))
    )


def test_chosen_designs_differ() -> None:
    """Eleven designs in two heaps: one of each heap is taken, the one that gains most first."""
    space = replace(SPACE, variables=(Amount("deck barrel top", 1.0, 0.05),))
    one = PlanSearch(space, GOAL, OVER, None, quick_before={"band_kw": 8.0})

    def tried(metal: float, gain: float) -> Tried:
        return Tried({"deck barrel top": metal}, (-8.0 - gain, 0.0, metal), ())

    heap = [tried(0.1 + 0.001 * i, 0.5 + 0.001 * i) for i in range(5)]
    front = [*heap, *(tried(0.9 + 0.001 * i, 2.0 + 0.001 * i) for i in range(6))]
    taken = choose(one, front, 12)
    assert len(taken) == 2
    assert taken[0] is front[-1]
    assert taken[1] in heap
    assert len(choose(one, front, 1)) == 1
    assert choose(one, [tried(0.5, 0.0)], 12) == []


def test_a_plan_that_does_the_same_for_more_metal_is_no_choice() -> None:
    """Power, pull, metal: 11.11 kW for 2.05 mm is no more than 11.10 kW for 1.5 mm; with more pull it is."""
    aims = np.array([[-11.10, -9.2, 1.5], [-11.11, -9.2, 2.05], [-11.11, -9.4, 1.95], [-11.5, -9.2, 4.0]])
    assert worth_their_metal(aims) == [0, 2, 3]
    assert worth_their_metal(aims[:2]) == [0, 1]  # the one that gains most always stays


def test_finalists_that_became_alike_are_told_once() -> None:
    """2.0 and 2.1 mm for nearly the same gain are one plan; the best and the gentlest always stay, in their order."""
    one = PlanSearch(SPACE, GOAL, OVER, None)

    def tried(roof: float, gain: float) -> Tried:
        return Tried({**{v.name: 0.0 for v in SPACE.variables}, ROOF: roof}, (-8.0 - gain, 0.0, roof), ())

    finalists = [tried(0.3, 0.3), tried(2.0, 1.0), tried(1.9, 0.96), tried(3.0, 1.4)]
    assert still_apart(one, finalists) in ([0, 1, 3], [0, 2, 3])
    assert still_apart(one, finalists[:1]) == [0]
    assert still_apart(one, []) == []


# --- the simulator itself -------------------------------------------------------------------------------------------


def test_two_cuts_are_found_as_by_trying_everything(real: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """Deck 0 to 0.6 and exhaust roof 0 to 2 mm in steps: 5 x 5 engines, all at three speeds with long cells."""
    coarse = Settings(cell_m=0.040, tolerance=0.05)
    for module in (search_judging, search_finalists, search_plans):
        monkeypatch.setattr(module, "SEARCH", coarse)
    monkeypatch.setattr(search_plans, "FINE", coarse)
    base = SPACE
    deck, roof = Amount("deck barrel top", 0.6, 0.15), Amount("raise exhaust roof at exhaust", 2.0, 0.5)
    space: Space = replace(base, variables=(deck, roof))
    found = find_plans(space, GOAL, kept=(), evaluations=25, speeds=OVER, draws=2, seed=3)
    grid = [{deck.name: round(0.15 * i, 9), roof.name: 0.5 * j} for i, j in product(range(5), range(5))]
    curves = sweep_many([space.built(design) for design in grid], OVER.points, coarse)
    values = {
        tuple(design.values()): merits_of(curve, OVER)["band_kw"] for design, curve in zip(grid, curves, strict=True)
    }
    best = max(values.values())
    assert found.best is not None
    assert found.best.merits["band_kw"] == pytest.approx(best, abs=1e-12)
    assert found.evaluated <= 25
    for plan in found.plans:
        # nothing that takes off no more metal gains more
        rivals = [value for cut, value in values.items() if sum(cut) <= plan.metal_mm + 1e-9]
        assert plan.merits["band_kw"] >= max(rivals) - 0.05 * plan.gain - 1e-9


@pytest.mark.parametrize("begun", [False, True], ids=["today's engine", "the first design"])
def test_interrupted_before_anything_was_found_it_says_so(monkeypatch: pytest.MonkeyPatch, begun: bool) -> None:
    calls = 0

    def interrupted(records: Sequence[EngineRecord], *a: object, **b: object) -> Iterator[Swept]:
        nonlocal calls
        calls += 1
        if begun and calls == 1:
            yield from formula(records, OVER.points)
            return
        list(records)
        raise KeyboardInterrupt

    for module in (search_judging, search_plans):
        monkeypatch.setattr(module, "sweep_many", interrupted)
    with pytest.raises(SearchError, match=r"nothing was found yet.*\n.*\n.*the same command again"):
        find_plans(SPACE, GOAL, speeds=OVER)


def test_first_designs_set_the_squish_that_the_builder_allows() -> None:
    """A builder who allows 0.8 mm at most begins with stacks that keep it, not with the usual millimetre."""
    space = space_for(RECORD, BOX, table=LimitTable(set=(OneLimit(name="squish_gap_mm", high=0.8),)))
    gaps = [work_out(space.built(design), draws=0).value("squish_gap_mm") for design in starts(space)[1:3]]
    assert gaps
    assert all(gap is not None and 0.5 < gap <= 0.8 for gap in gaps), gaps
