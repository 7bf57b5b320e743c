"""The command `plan` from outside: what it prints, writes and refuses."""

import contextlib
import io
import json
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

from scribeline.cli import main
from scribeline.engine import read_record
from scribeline.plan.plan_file import read_plan
from tests.cli.test_record import scribeline as in_a_process

KART, PLAN = "examples/club-kart-98.toml", "examples/club-kart-98-plan.toml"
STEP = ("--do", "raise exhaust roof at exhaust: 1,2 mm")
ROOT = Path(__file__).parents[2]


class Done(NamedTuple):
    returncode: int
    stdout: str
    stderr: str


def scribeline(*arguments: str) -> Done:
    """A command run in this process, as `main` runs it: a process of its own takes seconds to load the numerics."""
    printed, refused, status = io.StringIO(), io.StringIO(), 0
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(ROOT)
        patch.setattr(sys, "argv", ["scribeline", *arguments])
        try:
            with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(refused):
                main()
        except SystemExit as stop:
            status = stop.code if isinstance(stop.code, int) else 0
    return Done(status, printed.getvalue(), refused.getvalue())


def test_the_demonstration_plan_with_its_cut_list() -> None:
    done = in_a_process("plan", KART, "--plan", PLAN, "--cut-list")
    assert (done.returncode, done.stderr) == (0, "")
    assert "Squish first, then a little exhaust: Club kart 98 (INVENTED, for demonstration)" in done.stdout
    assert 'swap head gasket: "thin copper" was written as number 3' in done.stdout
    assert "STOP. Squish and deck are done." in done.stdout
    assert "TARGET 27.95 ± 0.22 mm" in done.stdout  # 29.1 - 0.35 - 0.8
    assert max(len(line) for line in done.stdout.splitlines()) <= 104


def test_json_holds_steps_moved_numbers_and_lines() -> None:
    done = scribeline("plan", KART, *STEP, "--cut-list", "--json")
    assert (done.returncode, done.stderr) == (0, "")
    document = json.loads(done.stdout)
    assert document["steps"][0] == {
        "says": "raise exhaust roof at exhaust: 1.2 mm", "do": "raise exhaust roof", "at": "exhaust", "up_mm": 1.2,
    }  # fmt: skip
    moved = {one["name"]: one["after"] for one in document["moved"]}
    assert moved["ports.exhaust.roof_depth_mm"] == pytest.approx(27.28)
    assert document["cut_list"][0]["lines"][0]["target_mm"] == pytest.approx(27.9)


def test_what_can_be_done_is_listed_as_it_is_typed() -> None:
    done = scribeline("plan", KART, "--can", "--plan", PLAN)
    assert (done.returncode, done.stderr) == (0, "")
    assert '  - swap head gasket: "no gasket" | "fitted 1" | "thin copper"' in done.stdout
    assert "  - raise exhaust roof at exhaust: 0 to 10 mm" in done.stdout


def test_the_plan_and_the_record_to_expect_are_written(tmp_path: Path) -> None:
    plan, record = tmp_path / "plan.toml", tmp_path / "expected.toml"
    done = scribeline("plan", KART, "--plan", PLAN, "--write", str(plan), "--write-record", str(record))
    assert (done.returncode, done.stderr) == (0, "")
    assert [step.do for step in read_plan(plan.read_text()).steps][:2] == ["swap head gasket", "deck barrel top"]
    roof = read_record(record.read_text()).ports[0].roof_from_deck_mm
    assert roof is not None
    assert roof.value == pytest.approx(27.95)
    again = scribeline("plan", KART, "--plan", str(plan), "--from-here", "2", "--measured", str(record))
    assert again.returncode == 0
    assert "is there already" in again.stdout


def test_both_engines_are_simulated_on_request() -> None:
    done = scribeline("plan", KART, "--do", "change pipe length at header: -30 mm", "--curve", "--rpm", "9000")
    assert (done.returncode, done.stderr) == (0, "")
    row = next(line for line in done.stdout.splitlines() if line.strip().startswith("9000 "))
    assert len(row.split()) == 6


def test_the_pipe_of_another_record_is_at_hand() -> None:
    done = scribeline("plan", KART, "--pipe-of", "examples/reed-125.toml", "--do", 'swap pipe: "Reed 125"')
    assert (done.returncode, done.stderr) == (0, "")
    assert "1117.00 mm" in done.stdout  # 262 + 175 + 150 + 95 + 205 + 230


def test_the_pipe_of_a_build_in_the_notebook_is_at_hand(tmp_path: Path) -> None:
    where = str(tmp_path / "notebook.db")
    kept = scribeline("notebook", "keep", "examples/reed-125.toml", "--build", "race day", "--notebook", where)
    assert kept.returncode == 0, kept.stderr
    step = ("--do", 'swap pipe: "race day"')
    done = scribeline("plan", KART, "--pipe-of-build", "race day", "--notebook", where, *step)
    assert done.returncode == 0, done.stderr
    assert "1117.00 mm" in done.stdout


def test_own_limits_are_held_and_said(tmp_path: Path) -> None:
    limits = tmp_path / "limits.toml"
    limits.write_text('set = [{ name = "squish_gap_mm", off = true, why = "to see" }]')
    said = "The limit on squish_gap_mm is switched off by the builder: to see."
    for command in (("plan", KART, *STEP), ("card", KART)):
        done = scribeline(*command, "--limits", str(limits))
        assert done.returncode == 0, done.stderr
        assert said in done.stdout
        assert "mean is above 1 mm" not in done.stdout


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--do", "raise exhaust roof at exhaust: -1 mm"), "metal does not grow back"),
        (("--do", "raise the roof"), "one of: swap base gasket"),
        (("--plan", "examples/none.toml"), "check the name"),
        (("--from-here", "1"), "accepted: --from-here with --measured"),
        (("--measured", KART), "accepted: --from-here with --measured"),
        (("--from-here", "9", "--measured", KART), "accepted: 0 to 0"),
        (("--do", "deck barrel top: 3 mm", "--do", "deck barrel base: 3 mm"), "what to do: do less of it"),
    ],
)
def test_refusals_end_with_status_2_and_say_what_to_do(arguments: tuple[str, ...], said: str) -> None:
    done = scribeline("plan", KART, *arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_a_limit_that_is_none_is_refused(tmp_path: Path) -> None:
    limits = tmp_path / "limits.toml"
    limits.write_text('set = [{ name = "squish", off = true }]')
    done = scribeline("plan", KART, "--limits", str(limits))
    assert done.returncode == 2
    assert "one of: blowdown_deg" in done.stderr


@pytest.mark.parametrize(
    "options", [("--html", "page.html"), ("--gaskets", "base 0.5"), ("--choose", "2"), ("--keep", "pipe")]
)
def test_what_only_a_search_understands_is_refused_without_one(options: tuple[str, ...]) -> None:
    done = scribeline("plan", KART, *options)
    assert (done.returncode, done.stdout) == (2, "")
    assert f"{options[0]} = without --goal" in done.stderr
