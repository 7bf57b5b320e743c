"""Long work on a plan, with a formula in place of the simulator: stages, what is kept, what a stop leaves."""

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from scribeline.engine import EngineRecord
from scribeline.errors import CycleError, SearchError
from scribeline.plan.box import read_box_file
from scribeline.plan.carry_out import carry_out
from scribeline.plan.merits import FINE, Swept
from scribeline.plan.phrases import read_step
from scribeline.plan.search_plans import find_plans
from scribeline.plan.search_space import space_for
from scribeline.plan.stacks import solve
from scribeline.plan.steps import Plan
from scribeline.plan.wanted import Wanted
from scribeline.tasks import plan_found, plan_jobs
from scribeline.tasks.plan_curves import (
    curves_document,
    curves_drawing,
    curves_rows,
    curves_words,
    has_come,
    stage_words,
)
from scribeline.tasks.plan_found import figures_of, front_drawing, front_places, points_of, search, with_found
from scribeline.tasks.plan_in_hand import plan_of_document
from scribeline.tasks.plan_jobs import curves, who
from scribeline.tasks.plan_kept import folder_of, journal_of, keep, kept, kept_at, of_plan, of_search
from scribeline.tasks.plan_quick import cut, stacks, with_stack
from tests.examples import FOLDER, edited
from tests.tasks.formula import put_in, sweeps

RECORD = edited()
BOX = read_box_file(FOLDER / "gasket-box.toml")
ROOF = Plan((read_step("raise exhaust roof at exhaust: 1 mm"),))
BOTH = Plan((read_step("deck barrel top: 0.3 mm"), read_step("raise exhaust roof at exhaust: 1 mm")))
WANTED = Plan((), BOX, wanted=Wanted(goal="8000:10000", keep=("intake", "pipe", "head")))
Told = list[Mapping[str, Any]]


@pytest.fixture(autouse=True)
def formula(monkeypatch: pytest.MonkeyPatch) -> None:
    put_in(monkeypatch)
    for module in (plan_jobs, plan_found):
        monkeypatch.setattr(module, "sweep_many", sweeps)
    monkeypatch.setattr(plan_jobs, "_figures", {})


def never() -> bool:
    return False


# --- both curves ----------------------------------------------------------------------------------------------------


def test_curves_come_coarse_then_fine_then_with_their_band_and_each_is_kept(tmp_path: Path) -> None:
    stages: list[str] = []

    def tell(value: Mapping[str, Any]) -> None:
        if value.get("kept"):
            stages.append(kept(tmp_path, "curve")["stage"])  # type: ignore[index]

    document = curves(tmp_path, "this plan", RECORD, ROOF, "band", tell=tell, stopped=never)
    assert stages == ["coarse", *["part"] * 16, "fine", "band"]
    assert document == kept(tmp_path, "curve")
    assert document is not None
    assert document["of"] == "this plan"
    assert len(document["speeds"]) == 17  # 4000 to 12000 in steps of 500
    assert document["drawing"]["svg"].startswith("<svg")


def test_the_band_is_that_of_engines_which_share_their_errors_before_and_after(tmp_path: Path) -> None:
    """The formula's power is blowdown less squish: a raised roof moves both engines' blowdown by nearly the same.

    So the difference is known far better than either of them.
    """
    document = curves(tmp_path, "", RECORD, ROOF, "band", tell=lambda _: None, stopped=never)
    assert document is not None
    was, now, between = (np.array(one, float) for one in document["widths"])
    assert (was > 0.1).all()
    assert (between < 0.2 * np.minimum(was, now)).all()
    assert document["engines"] == plan_jobs.ENGINES
    assert "larger than what the +/- of your readings leaves open" in " ".join(curves_words(document))
    assert "±" in curves_rows(document)[0][3]


def test_todays_engine_is_simulated_once_while_the_plan_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    simulated: list[EngineRecord] = []

    def counted(records: list[EngineRecord], *more: Any, **further: Any) -> Iterator[Swept]:
        simulated.extend(records)
        return sweeps(records, *more, **further)

    monkeypatch.setattr(plan_jobs, "sweep_many", counted)
    for plan in (ROOF, BOTH):
        curves(tmp_path, of_plan(RECORD, plan), RECORD, plan, tell=lambda _: None, stopped=never)
    assert simulated.count(RECORD) == 1
    assert len(simulated) == 3


def stopped_after(seen: Told, doing: str, done: int) -> Callable[[], bool]:
    return lambda: any(one.get("doing") == doing and one["done"] >= done for one in seen)


def test_a_stop_keeps_every_fine_speed_that_was_done_and_says_how_many(tmp_path: Path) -> None:
    seen: Told = []
    last = curves(tmp_path, "", RECORD, ROOF, "band", tell=seen.append, stopped=stopped_after(seen, "fine curves", 7))
    assert last is not None
    assert kept(tmp_path, "curve") == last
    assert (last["stage"], last["fine"]) == ("part", [4000.0 + 500.0 * i for i in range(7)])
    assert last["speeds"] == [*last["fine"], 8000.0, 9000.0, 10000.0, 11000.0, 12000.0]
    assert stage_words(last, live=False) == (
        "Stopped after 7 of 17 speeds: up to 7000 rev/min these are the fine curves; the rest is of the quick ones."
    )
    assert stage_words(last, live=True).startswith("7 of 17 speeds so far: up to 7000 rev/min")
    assert "fine up to here, quick beyond" in last["drawing"]["svg"]
    assert [row[0] for row in curves_rows(last)][6:8] == ["7000", "8000, quick"]
    assert curves_words(last)[0] == "Fine up to 7000 rev/min; the rest is of the quick curves."


def test_it_goes_on_from_what_was_done_also_in_another_process_and_comes_to_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "whole").mkdir()
    whole = curves(tmp_path / "whole", "", RECORD, ROOF, "fine", tell=lambda _: None, stopped=never)
    monkeypatch.setattr(plan_jobs, "_figures", {})
    seen: Told = []
    curves(tmp_path, "", RECORD, ROOF, "fine", tell=seen.append, stopped=stopped_after(seen, "fine curves", 7))

    monkeypatch.setattr(plan_jobs, "_figures", {})  # another process knows only what is on the disk
    asked_for: list[tuple[object, set[float]]] = []

    def noted(records: list[EngineRecord], points: Any, settings: Any, **more: Any) -> Iterator[Swept]:
        asked_for.append((settings, set(points) - set(more["leave_out"])))
        return sweeps(records, points, settings, **more)

    monkeypatch.setattr(plan_jobs, "sweep_many", noted)
    stages: list[str] = []
    went_on = curves(
        tmp_path, "", RECORD, ROOF, "fine", stopped=never,
        tell=lambda value: stages.append(str(value["stage"])) if value.get("kept") else None,
    )  # fmt: skip
    assert went_on == whole
    assert asked_for == [(FINE, {7500.0 + 500.0 * i for i in range(10)})]
    assert set(stages) == {"part", "fine"}  # never back to the quick ones

    stages.clear()
    asked_for.clear()
    assert curves(tmp_path, "", RECORD, ROOF, "fine", tell=stages.append, stopped=never) == whole  # type: ignore[arg-type]
    assert not stages
    assert not asked_for


def test_what_was_worked_out_by_another_program_or_of_another_plan_is_not_gone_on_with(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    document = curves(tmp_path, "one", RECORD, ROOF, "fine", tell=lambda _: None, stopped=never)
    assert has_come(document, "one", "fine")
    assert not has_come(document, "one", "band")
    assert not has_come(document, "two", "coarse")
    assert not has_come({**(document or {}), "program": "of last year"}, "one", "coarse")
    assert not has_come(None, "one", "coarse")


def test_a_stopped_curve_does_not_replace_that_of_the_plan_that_followed(tmp_path: Path) -> None:
    keep(tmp_path, "curve", {"of": "before"})

    def tell(value: Mapping[str, Any]) -> None:
        if value.get("stage") == "coarse":
            keep(tmp_path, "curve", {"of": "the next plan"})

    curves(tmp_path, "this plan", RECORD, ROOF, "fine", tell=tell, stopped=never)
    assert kept(tmp_path, "curve") == {"of": "the next plan"}


@pytest.mark.parametrize(("rows", "stage", "engines"), [(11, "fine", 0), (14, "band", 7)])
def test_a_band_that_is_stopped_is_of_half_of_its_engines_at_least(
    tmp_path: Path, rows: int, stage: str, engines: int
) -> None:
    calls = 0

    def stopped() -> bool:
        nonlocal calls
        calls += bool(seen) and seen[-1].get("doing") == "what your measuring leaves open"
        return calls >= rows

    seen: Told = []
    document = curves(tmp_path, "", RECORD, ROOF, "band", tell=seen.append, stopped=stopped)
    assert document is not None
    assert (document["stage"], document["engines"]) == (stage, engines)
    assert not has_come(document, "", "band")
    assert ("less sure" in stage_words(document, live=False)) == (stage == "band")


def test_an_engine_without_a_curve_says_why_and_keeps_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(records: list[EngineRecord], points: Any, *more: Any, **further: Any) -> Iterator[Swept]:
        empty = np.full(len(points), np.nan)
        return iter([Swept(np.array(points), empty, empty, empty, empty, ("no carburettor",)) for _ in records])

    before = curves(tmp_path, "", RECORD, ROOF, tell=lambda _: None, stopped=never)
    monkeypatch.setattr(plan_jobs, "sweep_many", none)
    monkeypatch.setattr(plan_jobs, "_figures", {})
    with pytest.raises(CycleError, match="no carburettor"):
        curves(tmp_path, "of another plan", RECORD, ROOF, tell=lambda _: None, stopped=never)
    assert kept(tmp_path, "curve") == before


def test_a_plan_that_changes_no_power_says_so_and_is_drawn() -> None:
    flat = [1.0, 2.0]
    document = curves_document("", "coarse", [8000, 9000], flat, flat, (flat, flat), same=True)
    assert curves_words(document) == [
        "The plan changes nothing that the simulated power depends on: one curve lies on the other."
    ]
    assert curves_drawing(document).groups


def test_knock_after_the_plan_is_said_and_a_speed_without_result_is_crossed() -> None:
    nan = float("nan")
    document = curves_document("", "fine", [8000, 9000, 10000], [9.0, 10.0, nan], [9.5, 11.0, 12.0],
                               ([5.0, 5.0, nan], [3.0, -1.5, 2.0]))  # fmt: skip
    assert json.loads(json.dumps(document, allow_nan=False)) == document
    words = " ".join(curves_words(document))
    assert "at 9000 rev/min this fuel may knock" in words
    assert "gains most at 9000 rev/min, +1.00 kW; nowhere does it lose" in words
    assert curves_rows(document)[2][1:4] == ("no result", "12.00", "")
    assert "crossed: no result there" in str(curves_drawing(document).groups)


# --- who limits what ------------------------------------------------------------------------------------------------


def test_who_limits_shares_out_the_plans_own_steps(tmp_path: Path) -> None:
    document = who(tmp_path, "of", RECORD, BOTH, tell=lambda _: None, stopped=never)
    assert document == kept(tmp_path, "who")
    assert document is not None
    assert document["own"]
    assert set(document["groups"]) == {"compression", "ports"}


def test_without_two_groups_the_best_single_thing_of_each_is_compared(tmp_path: Path) -> None:
    document = who(tmp_path, "of", RECORD, replace(ROOF, box=BOX), tell=lambda _: None, stopped=never)
    assert document is not None
    assert not document["own"]
    assert len(document["groups"]) > 1


def test_who_limits_stopped_with_all_combinations_has_its_shares(tmp_path: Path) -> None:
    """Four combinations of two groups; the fourth engine of the second drawing is the twelfth."""
    seen: Told = []
    document = who(tmp_path, "of", RECORD, BOTH, tell=seen.append,
                   stopped=lambda: bool(seen) and seen[-1].get("done", 0) >= 13)  # fmt: skip
    assert document is not None
    assert (document["stopped"], document["drawn"]) == (True, 2)
    whole = who(tmp_path, "of", RECORD, BOTH, tell=seen.append, stopped=never)
    assert whole is not None
    assert (whole["stopped"], whole["drawn"]) == (False, 4)
    assert whole["answers"][0].split(" ± ")[0] == document["answers"][0].split(" ± ")[0]


def test_a_stop_of_who_limits_keeps_what_was_there(tmp_path: Path) -> None:
    assert who(tmp_path, "of", RECORD, BOTH, tell=lambda _: None, stopped=lambda: True) is None
    assert kept(tmp_path, "who") is None


def test_nothing_to_share_out_is_refused(tmp_path: Path) -> None:
    plan = replace(ROOF, wanted=Wanted(tools=(), keep=("compression", "intake", "pipe", "ignition")))
    with pytest.raises(SearchError):
        who(tmp_path, "of", RECORD, plan, tell=lambda _: None, stopped=never)


# --- the search -----------------------------------------------------------------------------------------------------


def searched(place: Path, tell: Callable[[Mapping[str, Any]], object] = lambda _: None, stopped: Any = never) -> Any:
    return search(place, "of", RECORD, WANTED, 60, tell=tell, stopped=stopped)


def test_a_search_ends_with_the_planners_own_plans(tmp_path: Path) -> None:
    document = searched(tmp_path)
    assert document["state"] == "done"
    assert document == kept(tmp_path, "search")
    space = space_for(RECORD, BOX, keep=("intake", "pipe", "head"))
    from scribeline.plan.search_goals import goal_of

    same = find_plans(space, goal_of("8000:10000"), evaluations=60)
    assert [one["steps"] for one in document["plans"]] == [
        [dict(step) for step in _tables(plan.steps)] for plan in same.plans
    ]
    assert [one["gain"] for one in document["plans"]] == [plan.gain for plan in same.plans]
    heads, rows = figures_of(document)
    assert len(rows) == 1 + len(document["plans"])
    assert all(len(row) == len(heads) + 1 for row in rows)


def _tables(steps: Any) -> list[dict[str, Any]]:
    from scribeline.plan.plan_file import step_table

    return [dict(step_table(step)) for step in steps]


def test_killed_on_the_way_everything_found_is_on_the_disk_and_it_goes_on_from_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from scribeline.plan import search as inside

    monkeypatch.setattr(inside._Journal, "__init__", _eager(inside._Journal.__init__))

    class PowerCutError(BaseException):
        pass

    def cut_off(value: Mapping[str, Any]) -> None:
        if value.get("done", 0) >= 30:
            raise PowerCutError

    monkeypatch.setattr(plan_found, "_EVERY_S", 0.0)
    with pytest.raises(PowerCutError):
        searched(tmp_path, cut_off)
    left = kept(tmp_path, "search")
    assert left is not None
    assert left["state"] == "searching"  # nobody could write that it is not
    assert points_of(left)
    gains = [one["gain"] for one in points_of(left)]
    metal = [one["metal_mm"] for one in points_of(left)]
    assert gains == sorted(gains)
    assert metal == sorted(metal)
    assert front_drawing(left).groups
    picked = {"steps": with_found([], points_of(left)[-1])}
    carry_out(RECORD, plan_of_document({**picked, "box": BOX.model_dump(mode="json")}).steps, BOX)

    def cut_off_at_once(value: Mapping[str, Any]) -> None:
        raise PowerCutError

    with pytest.raises(PowerCutError):
        searched(tmp_path, cut_off_at_once)
    again = kept(tmp_path, "search")
    assert again is not None
    assert again["evaluated"] >= 30  # what is on the disk, though this time nothing was walked through yet

    evaluated: list[int] = []
    monkeypatch.setattr(plan_found, "_EVERY_S", 0.5)
    went_on = searched(tmp_path, lambda value: evaluated.append(value["done"]) if value.get("done") else None)
    monkeypatch.undo()
    assert went_on["state"] == "done"
    assert went_on["evaluated"] >= 30


def _eager(init: Any) -> Any:
    def made(self: Any, path: Any, purpose: Any, known: Any) -> None:
        init(self, path, purpose, known, every_s=0.0)

    return made


def test_a_stopped_search_keeps_what_it_found_unconfirmed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan_found, "_EVERY_S", 0.0)
    seen: Told = []
    document = searched(tmp_path, seen.append, lambda: any(one.get("done", 0) >= 30 for one in seen))
    assert document["state"] == "stopped"
    assert document["plans"] == []
    assert points_of(document)
    assert kept(tmp_path, "search") == document


def test_the_front_is_what_nothing_beats(tmp_path: Path) -> None:
    """Against every pair of what the journal holds; only what lies next to a shown plan may be missing."""
    document = searched(tmp_path)
    journal = journal_of(tmp_path, RECORD, WANTED)
    tried = json.loads(journal.read_text(encoding="utf-8"))["tried"]
    points = [(aims[-1], -aims[0]) for _, aims, passed, _ in tried if max(passed, default=0.0) <= 0.0]
    best = {p for p in points if not any(q != p and q[0] <= p[0] and q[1] >= p[1] for q in points)}
    today = next(gain for metal, gain in points if metal == 0.0)
    shown = {(round(one["metal_mm"] + 0.01 * len(one["steps"]), 6), round(one["gain"], 6)) for one in document["front"]}
    assert shown <= {(round(metal, 6), round(gain - today, 6)) for metal, gain in best}
    assert max(gain for _, gain in shown) == pytest.approx(max(gain for _, gain in best) - today)


def test_where_a_plan_lies_on_the_picture_a_button_lies() -> None:
    document = {
        "plans": [], "verdict": "", "label": "most power", "unit": "kW",
        "front": [{"says": [], "steps": [], "gain": 0.5, "metal_mm": 0.0}, {"says": [], "steps": [], "gain": 1.0,
                                                                             "metal_mm": 2.0}],
    }  # fmt: skip
    drawing, places = front_places(document)
    circles = drawing.svg.split("<circle ")[1:]
    left, top, wide, high = map(float, drawing.svg.split('viewBox="')[1].split('"')[0].split())
    found = set()
    for circle in circles:
        x, y = (float(circle.split(f'{key}="')[1].split('"')[0]) for key in ("cx", "cy"))
        found.add((round(100 * (x - left) / wide, 2), round(100 * (y - top) / high, 2)))
    assert found == {(round(x, 2), round(y, 2)) for x, y in places}


def test_a_goal_that_cannot_be_read_is_refused_before_anything_begins(tmp_path: Path) -> None:
    with pytest.raises(SearchError, match="accepted"):
        search(tmp_path, "", RECORD, replace(WANTED, wanted=Wanted(goal="more")), 60, tell=lambda _: None,
               stopped=never)  # fmt: skip
    assert kept(tmp_path, "search") is None


# --- gaskets and cut list -------------------------------------------------------------------------------------------


def test_the_stacks_are_those_of_the_solver_and_one_of_them_sets_the_squish(tmp_path: Path) -> None:
    from scribeline.geometry.work_out import work_out

    document = stacks(tmp_path, "", RECORD, WANTED, tell=lambda _: None, stopped=never)
    found = solve(work_out(RECORD), BOX, places=("deck barrel top",)).found
    assert document["rows"][0]["mean"].startswith(f"{found[0].mean_mm:.2f} ± ")
    steps = with_stack([{"do": "deck barrel top", "off_mm": 0.9}, {"do": "change ignition advance", "earlier_deg": 1}],
                       document["rows"][0])  # fmt: skip
    plan = plan_of_document({"steps": steps, "box": BOX.model_dump(mode="json", exclude_defaults=True)})
    assert [step.do for step in plan.steps].count("deck barrel top") == (1 if found[0].cut_mm > 0 else 0)
    assert plan.steps[-1].do == "change ignition advance"
    after = work_out(carry_out(RECORD, plan.steps, BOX), draws=0).value("squish_gap_mm")
    assert after == pytest.approx(found[0].mean_mm, abs=0.0101)


def test_without_a_squish_gap_it_says_what_to_measure(tmp_path: Path) -> None:
    blind = RECORD.model_copy(update={"squish": None, "cylinder": RECORD.cylinder.model_copy(
        update={"deck_clearance_at_tdc_mm": None, "deck_height_mm": None})})  # fmt: skip
    document = stacks(tmp_path, "", blind, WANTED, tell=lambda _: None, stopped=never)
    assert document["rows"] == []
    assert "solder" in document["why_not"]


def test_the_cut_list_holds_what_the_planner_prints(tmp_path: Path) -> None:
    """29.1 from the deck, 0.3 off the deck and 1 mm up: 27.8 is the target, and 28.15 the stop line, 0.35 short."""
    document = cut(tmp_path, "", RECORD, BOTH, tell=lambda _: None, stopped=never)
    assert document == kept(tmp_path, "cut")
    deck, roof = document["steps"]
    assert deck["stop"].startswith("Stop and measure at 0.2 mm")
    assert roof["measure_first"]
    assert (roof["lines"][0]["now"], roof["lines"][0]["stop"]) == ("28.80", "28.15")
    assert roof["lines"][0]["target"].startswith("27.80 ± ")


def test_a_plan_without_a_cut_list_says_why(tmp_path: Path) -> None:
    blind = RECORD.model_copy(update={"cylinder": RECORD.cylinder.model_copy(
        update={"deck_clearance_at_tdc_mm": None, "deck_height_mm": None})})  # fmt: skip
    document = cut(tmp_path, "", blind, ROOF, tell=lambda _: None, stopped=never)
    assert "what to do" in document["why_not"]


# --- what is kept ---------------------------------------------------------------------------------------------------


def test_what_is_kept_is_replaced_whole_and_told_by_when(tmp_path: Path) -> None:
    place = folder_of(tmp_path, "../a build / with 'anything' in its name")
    assert place.parent.parent == tmp_path
    assert (kept(place, "curve"), kept_at(place, "curve")) == (None, 0)
    keep(place, "curve", {"of": "1"})
    first = kept_at(place, "curve")
    keep(place, "curve", {"of": "2"})
    assert kept(place, "curve") == {"of": "2"}
    assert kept_at(place, "curve") >= first > 0
    assert [one.name for one in place.iterdir()] == ["curve.json"]
    (place / "curve.json").write_text("{half", encoding="utf-8")
    assert kept(place, "curve") is None


def test_each_result_is_named_by_what_it_depends_on() -> None:
    assert of_plan(RECORD, ROOF) != of_plan(RECORD, BOTH)
    assert of_plan(RECORD, ROOF) == of_plan(RECORD, replace(ROOF, name="another name", wanted=Wanted(goal="pull")))
    assert of_search(RECORD, ROOF, 0) == of_search(RECORD, BOTH, 0)  # a search does not look at the steps
    assert of_search(RECORD, ROOF, 0) != of_search(RECORD, replace(ROOF, wanted=Wanted(goal="pull")), 0)
