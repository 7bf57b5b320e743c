"""Long answers for programs, as a worker runs them: what is told on the way, and what there is when one is stopped."""

import json
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from scribeline.errors import SearchError
from scribeline.plan.plan_file import read_plan
from scribeline.tasks import answers_long
from scribeline.tasks.answers_made import Made
from scribeline.web.api.wishes import PipeWish
from tests.examples import path_of

KART = path_of("club-kart-98").read_text()
SEARCH: dict[str, Any] = {
    "goal": "9000:9500", "plan_toml": None, "gaskets": "base 0.3", "tools": "file", "keep": ["pipe"], "also": "knock",
    "evaluations": 60, "form": "json",
}  # fmt: skip
CURVE: dict[str, Any] = {
    "steps": [], "plan_toml": None, "speeds": "7000:9000:1000", "cell_mm": 40.0, "throttle": 1.0, "air_hpa": None,
    "air_c": None, "humidity_percent": None, "how_sure": False, "blow_by_mm2": 0.0, "knobs": [], "plus_minus": False,
    "form": "json",
}  # fmt: skip


def searched(place: Path, stop_after: int, **wish: Any) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """What a search came to that is asked to stop once so many engines are done, and all that it told."""
    told: list[dict[str, Any]] = []

    def stopped() -> bool:
        return any(one["done"] >= stop_after for one in told if one["doing"] == "searching")

    found = answers_long.search(KART, "kart", place, SEARCH | wish, tell=told.append, stopped=stopped)
    assert isinstance(found, str)
    return json.loads(found), told


def test_a_search_tells_its_best_so_far_and_stops_with_it(tmp_path: Path) -> None:
    found, told = searched(tmp_path, 1)
    assert (found["state"], found["asked"]["also"], found["asked"]["keep"]) == ("stopped", ["knock"], ["pipe"])
    assert 1 <= found["evaluated"] < 60
    assert {one["of"] for one in told if one["doing"] == "searching"} == {60}
    for plan in found["front"]:
        steps = read_plan(plan["plan_toml"]).steps
        assert [step.do for step in steps] == [one["do"] for one in plan["steps"]]
    assert told[-1]["so_far"]["front"] == found["front"]


def test_what_is_no_goal_or_part_is_refused_and_no_file_is_read(tmp_path: Path) -> None:
    with pytest.raises(SearchError, match="accepted"):
        searched(tmp_path, 1, goal="fast")
    (tmp_path / "box.toml").write_text("scribeline_box = 1\n")
    with pytest.raises(SearchError):
        searched(tmp_path, 1, gaskets=str(tmp_path / "box.toml"))


def test_a_curve_that_is_stopped_gives_the_speeds_that_are_done_and_says_what_is_missing() -> None:
    told: list[dict[str, Any]] = []
    found = answers_long.curve(
        KART, "kart", (KART, "the other"), CURVE | {"how_sure": True, "speeds": "6000:9000:500"}, tell=told.append,
        stopped=lambda: bool(told) and told[-1]["done"] >= 2,
    )  # fmt: skip
    assert isinstance(found, str)
    document = json.loads(found)
    assert {(one["doing"], one["of"]) for one in told} == {("the curve", 7)}
    done = [one for one in document["points"] if "power_kw" in one]
    assert 2 <= len(done) <= 3  # two threads: one may have been at a speed
    assert document["stopped"][0] == f"the curve has {len(done)} of 7 speeds"
    assert "the curve, turned on, is missing" in document["stopped"]
    assert document["stopped"][-1] == "the other curve was not begun"
    others = {one["why_not"] for one in document["points"] if "power_kw" not in one}
    assert others == {"not simulated: the curve was stopped before"}
    csv = answers_long.curve(
        KART, "kart", None, CURVE | {"form": "csv"}, tell=told.append, stopped=lambda: told[-1]["of"] == 3
    )
    assert b"the curve was stopped before" in made(csv).data


def made(found: str | Made) -> Made:
    assert isinstance(found, Made)
    return found


def test_a_pipe_whose_search_is_stopped_is_compared_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    from scribeline.cycle.simulate import Settings
    from scribeline.tasks import pipe

    quick = Settings(cell_m=0.040, tolerance=0.05, flush=1.0)
    monkeypatch.setattr(pipe, "design_pipe", partial(pipe.design_pipe, coarse=quick, fine=quick))
    asked = dict.fromkeys(
        ("metal_mm", "gap_mm", "overlap_mm", "stock", "joint_deg", "paper", "formats", "bar_across", "bar_up",
         "header_mm", "longest_mm", "widest_outside_mm", "steepest_diffuser_deg", "steepest_baffle_deg",
         "stinger_least_mm", "stinger_most_mm", "stinger_length_mm"))  # fmt: skip
    asked |= PipeWish(speed_rpm=9000.0).model_dump()
    told: list[dict[str, Any]] = []
    found = answers_long.pipe(KART, "kart", asked, tell=told.append, stopped=lambda: len(told) > 3)
    assert isinstance(found, str)
    document = json.loads(found)
    assert document["search"]["stopped"] is True
    assert "Stopped before the search was finished: this is the best it had." in document["remarks"]
    assert told[-1] == {"doing": "comparing", "done": told[-1]["of"], "of": told[-1]["of"]}


def test_who_limits_that_is_stopped_before_all_combinations_has_nothing() -> None:
    wish = {
        "steps": ["raise exhaust roof at exhaust: 1 mm", "deck barrel top: 0.2 mm"], "plan_toml": None,
        "goal": "8000:9000", "gaskets": None, "tools": None, "draws": 0, "form": "json",
    }  # fmt: skip
    with pytest.raises(SearchError, match="stopped after 1 of 4 engines"):
        answers_long.who_limits(KART, "kart", None, wish, tell=lambda value: None, stopped=lambda: True)
    found = answers_long.who_limits(KART, "kart", None, wish, tell=lambda value: None, stopped=lambda: False)
    assert isinstance(found, str)
    document = json.loads(found)
    assert set(document["groups"]) == {"ports", "compression"}
    for one in document["numbers"]:
        assert sum(one["shares"].values()) == pytest.approx(
            one["after"] - one["before"], abs=1e-6
        )  # Shapley: shares add up
