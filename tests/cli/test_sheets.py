"""`scribeline sheets` and `scribeline build-card` from the outside."""

import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scribeline.cli import app
from scribeline.errors import PlanError, SheetError
from scribeline.tasks.sheet_drawings import SHEETS

EXAMPLES = Path(__file__).parents[2] / "examples"
KART = str(EXAMPLES / "club-kart-98.toml")
PLAN = str(EXAMPLES / "club-kart-98-plan.toml")


def run(*arguments: str) -> str:
    result = CliRunner().invoke(app, list(arguments), catch_exceptions=True)
    if isinstance(result.exception, SheetError | PlanError):
        raise result.exception
    assert result.exit_code == 0, result.output
    return result.output


def test_it_says_what_it_wrote_and_to_measure_the_bars(tmp_path: Path) -> None:
    said = run("sheets", KART, "-o", str(tmp_path), "--sheet", "squish-card", "--format", "pdf,svg")
    assert str(tmp_path / "squish-card.pdf") in said
    assert "measure the check bars" in said
    assert (tmp_path / "squish-card.svg").exists()


def test_a_printer_is_corrected_by_what_its_bars_measured(tmp_path: Path) -> None:
    run("sheets", KART, "-o", str(tmp_path), "--sheet", "bore-wrap", "--format", "svg", "--bar-across", "98.7 mm")
    # The wrap lies on its side: up it is along the paper's short edge.
    svg = (tmp_path / "bore-wrap.svg").read_text(encoding="utf-8")
    assert "bars of 100 mm measured 98.7 short edge, 100 long edge" in svg
    assert f"matrix(1 0 0 {100 / 98.7:.9g} " in svg
    with pytest.raises(SheetError, match="95 to 105 mm"):
        run("sheets", KART, "-o", str(tmp_path), "--bar-up", "94 mm")


def test_names_lists_every_sheet(tmp_path: Path) -> None:
    said = run("sheets", KART, "-o", str(tmp_path / "none"), "--names")
    assert all(name in said for name in SHEETS)
    assert not (tmp_path / "none").exists()


def test_what_cannot_be_made_is_said(tmp_path: Path) -> None:
    said = run("sheets", KART, "-o", str(tmp_path))
    assert "not made: cut-list: there is no cut list without a plan" in said


@pytest.mark.parametrize(
    ("option", "value"), [("--turns", "left"), ("--paper", "A5"), ("--format", "gif"), ("--wheel", "20"),
                          ("--thickness", "2")]
)  # fmt: skip
def test_a_wish_that_cannot_be_met_is_refused(tmp_path: Path, option: str, value: str) -> None:
    with pytest.raises(SheetError, match="accepted"):
        run("sheets", KART, "-o", str(tmp_path), option, value, "--sheet", "degree-wheel", "--sheet", "bore-wrap")


def test_a_build_card(tmp_path: Path) -> None:
    said = run("build-card", KART, "-o", str(tmp_path / "card.svg"), "--dark", "--square", "--transparent")
    assert (tmp_path / "card.svg").exists()
    assert "card.svg" in said


def test_the_pipe_is_made_of_the_metal_there_is(tmp_path: Path) -> None:
    run("sheets", KART, "-o", str(tmp_path), "--sheet", "pipe", "--format", "svg", "--metal", "0.8",
        "--stock", "700x450")  # fmt: skip
    (overview,) = tmp_path.glob("pipe-stock-1-overview.svg")
    assert "700 x 450" in overview.read_text(encoding="utf-8")
    pieces = next(iter(sorted(tmp_path.glob("pipe-pieces-*.svg"))))
    assert "0.8 mm thick" in pieces.read_text(encoding="utf-8")
    with pytest.raises(SheetError, match="accepted"):
        run("sheets", KART, "-o", str(tmp_path), "--sheet", "pipe", "--stock", "large")


def test_limits_of_ones_own_are_said_on_every_sheet_with_and_without_a_plan(tmp_path: Path) -> None:
    own = tmp_path / "limits.toml"
    own.write_text('set = [{ name = "least_land_mm", off = true, why = "sleeved" }]', encoding="utf-8")
    words = "The limit on least_land_mm is switched off by the builder: sleeved."
    for plan in ((), ("--plan", PLAN)):
        folder = tmp_path / f"sheets{len(plan)}"
        run("sheets", KART, "-o", str(folder), "--sheet", "squish-card", "--format", "svg", "--limits", str(own), *plan)
        (sheet,) = folder.glob("squish-card*.svg")
        assert words in " ".join(re.findall(r">([^<]+)<", sheet.read_text(encoding="utf-8")))
    own.write_text('set = [{ name = "land", off = true }]', encoding="utf-8")
    with pytest.raises(PlanError, match="least_land_mm"):
        run("sheets", KART, "-o", str(tmp_path / "none"), "--limits", str(own))
