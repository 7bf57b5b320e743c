"""`scribeline ledger`: from a prediction to a page for the next builder."""

import json
from pathlib import Path

import pytest
import typer.main
from typer.testing import CliRunner, Result

from scribeline.cli.ledger import app
from scribeline.errors import LedgerError
from scribeline.tasks.notebook import keep_record
from scribeline.tasks.trials import add_files, new_trial
from tests.examples import path_of


@pytest.fixture(autouse=True)
def where(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "notebook.sqlite"
    monkeypatch.setenv("SCRIBELINE_NOTEBOOK", str(path))
    keep_record(path_of("club-kart-98"), build="kart", author="Kim", note="as bought")
    return path


def run(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def ran(*arguments: object) -> str:
    result = run(*arguments)
    assert (result.exception, result.exit_code) == (None, 0), result.output
    return result.stdout


def test_a_prediction_is_kept_driven_and_learned_from(tmp_path: Path) -> None:
    said = ran("predict", "kart", "25 to 50 km/h", 8.2, 7.6, 8.8, "s", "--quantity", "gate time")
    assert said == "Kept: 1. 25 to 50 km/h: predicted 8.20 s (7.60 to 8.80), not measured yet\n"
    new_trial("saturday", build="kart")
    runs = tmp_path / "runs.csv"
    runs.write_text("setup;run;25-50 km/h\nstock;1;8,4\nstock;2;8,5\nstock;3;8,6\n")
    add_files("saturday", [runs])
    assert "measured 8.50 ± 0.25 s: 0.30 s more, inside the band" in ran("beside", "kart", "--trial", "saturday")
    assert "gate time (own judgement) 1 of 1" in ran("show", "kart")
    assert json.loads(ran("show", "kart", "--json"))["predictions"][0]["measured"]["verdict"] == "inside"
    ran("lesson", "kart", "Three runs are too few.")
    assert "Three runs are too few." in ran("history", "kart", "--svg", tmp_path / "history.svg")
    assert (tmp_path / "history.svg").read_text().startswith("<svg")
    ran("show", "kart", "--png", tmp_path / "ledger.png")
    assert (tmp_path / "ledger.png").read_bytes().startswith(b"\x89PNG")
    ran("page", "kart", tmp_path / "kart.html")
    assert "Three runs are too few." in (tmp_path / "kart.html").read_text()
    assert ran("leave-out", "kart", 2, "--because", "wrong day") == "Left out: entry 2.\n"


def test_a_plan_is_held_to_its_words(tmp_path: Path) -> None:
    plan = tmp_path / "plan.toml"
    plan.write_text('scribeline_plan = 1\n[[steps]]\ndo = "deck barrel top"\noff_mm = 0.65\n')
    assert "squish gap at the bore wall, mean: predicted 0.777 mm" in ran("predict-plan", "kart", plan)
    keep_record(path_of("club-kart-98-squish-set"), build="kart", author="Kim", note="decked")
    found = ran("beside", "kart", "--measured-again")
    assert "squish gap at the bore wall, mean: predicted 0.777 mm (0.753 to 0.802), measured 0.777" in found
    assert "inside the band" in found
    said = ran("compare", "kart", 1, 2, "--drawings", tmp_path / "drawings")
    assert "deck clearance at top dead centre: 0.620 ± 0.030 mm" in said
    assert "Pipe: The pipe is the same in both." in said
    assert {path.name for path in (tmp_path / "drawings").iterdir()} == {"bore.svg", "dial.svg", "section.svg"}


def test_a_typed_value_and_what_is_missing() -> None:
    ran("predict", "kart", "top speed", 82, 76, 88, "km/h")
    assert "inside the band" in ran("beside", "kart", 1, 84, 2, "--seen-in", "a phone")
    assert run("beside", "kart", 1).exit_code == 2
    assert isinstance(run("beside", "kart", 5, 84, 2).exception, LedgerError)
    assert isinstance(run("predict", "kart", "top speed", 82, 83, 88, "km/h").exception, LedgerError)


def test_every_command_has_help() -> None:
    commands = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    assert set(commands) == {
        "predict", "predict-plan", "predict-road", "beside", "leave-out", "lesson", "show", "history", "compare",
        "page",
    }  # fmt: skip
    assert all(len(command.help) > 20 for command in commands.values())
