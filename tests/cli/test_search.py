"""The commands that find plans, through the terminal's side. The simulator is a formula."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from scribeline.cli import app
from scribeline.errors import ScribelineError
from scribeline.plan.plan_file import read_plan_file
from tests.examples import FOLDER, KART, path_of
from tests.tasks.formula import put_in

GOAL = (
    "plan",
    str(path_of(KART)),
    "--goal",
    "8000:10000",
    "--gaskets",
    "base 0.2, head 0.4",
    "--keep",
    "intake, pipe, head",
)
FEW = ("--evaluations", "30", "--plans", "3", "--no-shares")


def run(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


@pytest.fixture(autouse=True)
def _formula(monkeypatch: pytest.MonkeyPatch) -> None:
    put_in(monkeypatch)


def test_a_goal_prints_plans_and_writes_the_chosen_one_and_a_page(tmp_path: Path) -> None:
    plan, page = tmp_path / "plan.toml", tmp_path / "plans.html"
    done = run(*GOAL, *FEW, "--choose", "1", "-o", str(plan), "--html", str(page))
    assert done.exit_code == 0, done.output
    assert "PLAN 1: the gentlest" in done.output
    assert "searching: 30 of 30" in done.stderr
    assert "best so far" in done.stderr
    assert read_plan_file(plan).steps
    assert page.read_text().startswith("<!doctype html>")
    assert f"--plan {plan} --cut-list" in done.output


def test_json_and_a_journal_that_is_gone_on_from(tmp_path: Path) -> None:
    journal = tmp_path / "search.json"
    first = json.loads(run(*GOAL, *FEW, "--journal", str(journal), "--json").stdout)
    assert len(json.loads(journal.read_text())["tried"]) == 30
    again = json.loads(run(*GOAL, *FEW, "--journal", str(journal), "--json").stdout)
    assert again["plans"] == first["plans"]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--goal", "fame"), "--goal fame"),
        (("--goal", "most", "--tools", "chisel"), "--tools chisel"),
        (("--goal", "most", "--keep", "gearbox"), "--keep gearbox"),
        (("--goal", "most", "--gaskets", "base"), "--gaskets base"),
        (("--goal", "most", "--also", "noise"), "--also noise"),
        (("--goal", "most", "--choose", "1"), "--choose 1 alone"),
    ],
)
def test_what_cannot_be_meant_is_refused_before_anything_is_searched(options: tuple[str, ...], said: str) -> None:
    done = run("plan", str(path_of(KART)), *options)
    assert isinstance(done.exception, ScribelineError)
    assert said in str(done.exception)
    assert "accepted: " in str(done.exception)
    assert "what to do: " in str(done.exception)


def test_stacks() -> None:
    done = run("stacks", str(path_of(KART)), "--gaskets", str(FOLDER / "gasket-box.toml"), "--most", "2")
    assert done.exit_code == 0
    assert "least metal first:" in done.output
    assert "highest compression first:" in done.output


def test_who_limits_with_its_picture(tmp_path: Path) -> None:
    svg, png = tmp_path / "who.svg", tmp_path / "who.png"
    plan = FOLDER / "club-kart-98-plan.toml"
    done = run(
        "who-limits", str(path_of(KART)), "--plan", str(plan), "--draws", "0", "--svg", str(svg), "--png", str(png)
    )
    assert done.exit_code == 0, done.output
    assert "who limits what" in done.output
    assert "<svg" in svg.read_text()
    assert png.read_bytes()[1:4] == b"PNG"
