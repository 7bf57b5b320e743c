"""`scribeline pipe` as typed, without the search: that is tested where it is done."""

import json
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from scribeline import cli
from scribeline.engine import read_record_file
from scribeline.tasks import pipe as tasks
from tests.examples import KART, path_of
from tests.tasks.pipes import designed

ENGINE = str(path_of(KART))
RULES = ["pipe", ENGINE, "--rpm", "9000", "--first-shape"]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """Call the entry point with arguments; what it prints, or what it says when it refuses."""

    def call(*arguments: str, status: int = 0) -> str:
        monkeypatch.setattr(sys, "argv", ["scribeline", *arguments])
        with pytest.raises(SystemExit) as end:
            cli.main()
        out, err = capsys.readouterr()
        assert end.value.code == status, err
        assert "Traceback" not in err
        return err if status else out

    return call


def test_first_shape_as_text_and_as_json(run: Callable[..., str]) -> None:
    assert "by published rules alone, not simulated" in run(*RULES)
    document = json.loads(run(*RULES, "--json"))
    assert document["chosen"] == "first"


def test_a_search_hands_on_what_it_found(run: Callable[..., str], monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[tasks.Wanted] = []

    def design(path: Path, wanted: tasks.Wanted, *, progress: object) -> tasks.PipeReport:
        asked.append(wanted)
        return designed()

    monkeypatch.setattr(tasks, "design_pipe_of_file", design)
    printed = run("pipe", ENGINE, "--rpm", "9000", "--goal", "wide", "--longest", "1100", "--widest", "90",
                  "--metal", "1.2", "--steepest-baffle", "22", "--stinger-least", "20", "--diffusers", "2")  # fmt: skip
    assert "refined" in printed
    (wanted,) = asked
    assert (wanted.goal, wanted.longest_mm, wanted.widest_outside_mm, wanted.sheet_mm) == ("wide", 1100.0, 90.0, 1.2)
    assert (wanted.steepest_baffle_deg, wanted.stinger_least_mm, wanted.diffusers) == (22.0, 20.0, 2)


def test_everything_is_written_where_it_is_told(run: Callable[..., str], tmp_path: Path) -> None:
    new, svg, png, folder = tmp_path / "n.toml", tmp_path / "p.svg", tmp_path / "p.png", tmp_path / "patterns"
    printed = run(*RULES, "-o", str(new), "--svg", str(svg), "--png", str(png), "--patterns", str(folder))
    assert read_record_file(new).exhaust is not None
    assert svg.read_text(encoding="utf-8").startswith("<svg")
    assert png.read_bytes()[1:4] == b"PNG"
    assert {"pipe.pdf", "pipe-stock-1.dxf"} <= {path.name for path in folder.iterdir()}
    for path in (new, svg, png, folder / "pipe.pdf"):
        assert str(path) in printed


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--longest", "500"], "at most 500 mm fit"),
        (["--stock", "big"], "such as 1000x500"),
        (["--paper", "B5"], "A4"),
        (["--format", "doc"], "pdf, svg, dxf"),
    ],
)
def test_refusals_name_what_is_accepted(run: Callable[..., str], more: list[str], words: str) -> None:
    assert words in run(*RULES, *more, status=2)


def test_a_new_record_needs_a_speed(run: Callable[..., str], tmp_path: Path) -> None:
    assert "accepted: -o together with --rpm" in run("pipe", ENGINE, "-o", str(tmp_path / "n.toml"), status=2)
