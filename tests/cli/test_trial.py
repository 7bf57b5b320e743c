"""`scribeline trial` from outside: from files on a disk to a verdict, with nothing in between but commands."""

import json
import shlex
from pathlib import Path

import pytest

from tests.cli.test_record import scribeline
from tests.docs.test_printed import run
from tests.tasks.trial_files import recording

KART = "examples/club-kart-98.toml"
TIMES = "examples/gate-times.csv"


def ok(*arguments: str) -> str:
    """Run a command that must work, in this process: a program of its own would start a dozen times."""
    ran = run(shlex.join(arguments))
    assert ran.status == 0, ran.printed
    return ran.printed


def csv_of(path: Path, power: float, seed: int) -> Path:
    """A logger's table on the disk."""
    one = recording(path.name, 4, power, seed, None, None)
    speed = one.channels["speed_m_s"]
    rows = [f"{t:.2f},{3.6 * v:.2f}" for t, v in zip(speed.time_s, speed.values, strict=True)]
    path.write_text("time (s),speed (km/h)\n" + "\n".join(rows) + "\n")
    return path


def test_from_a_table_to_a_verdict_in_one_command(tmp_path: Path) -> None:
    files = [tmp_path / name for name in ("v.csv", "v.xlsx", "v.svg", "v.png")]
    options = [part for path in files for part in (f"--{path.suffix[1:]}", str(path))]
    text = ok("trial", "compare", TIMES, *options, "--transparent")
    assert text.startswith("THE VERDICT\n  30 to 55 km/h: squish set is quicker than as bought by 0.325 s")
    assert all(path.stat().st_size > 500 for path in files)
    assert (tmp_path / "v-2.png").exists()
    assert all(str(path.resolve()) in text for path in files)


def test_the_first_setup_named_is_what_the_others_are_held_against() -> None:
    document = json.loads(ok("trial", "compare", TIMES, "squish set", "as bought", "--json", "--without", "order"))
    first = document["verdicts"][0]
    assert (first["first"], first["second"]) == ("squish set", "as bought")
    assert first["difference"] > 0
    assert first["left_out"]["order"] == "not wanted"
    only = json.loads(ok("trial", "compare", TIMES, "--measure", "30 to 45 km/h", "--json"))
    assert {one["measure"] for one in only["verdicts"]} == {"30 to 45 km/h"}


def test_the_whole_way_through_the_notebook(tmp_path: Path) -> None:
    notebook = ("--notebook", str(tmp_path / "notebook.sqlite"))
    ok("notebook", "keep", KART, "--build", "kart", "--author", "Kim", *notebook)
    for name, power, seed in (("as bought", 1.0, 1), ("squish set", 1.06, 2)):
        ok("trial", "new", name, "--build", "kart", "--gate", "25 to 60 km/h", "--author", "Kim", *notebook)
        log = csv_of(tmp_path / f"log {seed}.csv", power, seed)
        assert "added, 4 pulls" in ok("trial", "add", name, str(log), "--author", "Kim", *notebook)
    air = "18 C, 1003 hPa, 60 %"
    ok("trial", "set", "as bought", "--air", air, "--author", "Kim", *notebook)
    ok("trial", "set", "squish set", "--air", air, "--author", "Kim", *notebook)
    shown = ok("trial", "show", "as bought", "--correct", "iso-1585", *notebook)
    assert "most power at the crank, iso-1585" in shown
    assert "1.211 kg/m³" in shown or "kg/m³" in shown
    ok("trial", "edit", "squish set", "2.4", "leave-out", "--because", "wrong gear", "--author", "Kim", *notebook)
    ok("trial", "set", "squish set", "--turning", "share 4 %", "--author", "Kim", *notebook)
    assert "power counts in what turns: share 4 %" in ok("trial", "show", "squish set", *notebook)
    assert "Took back in 'squish set': turning" in ok("trial", "undo", "squish set", "--author", "Kim", *notebook)
    assert "what turns: " not in ok("trial", "show", "squish set", *notebook)
    ok("trial", "drop", "squish set", "2.3", "--because", "missed the mark", "--author", "Kim", *notebook)
    text = ok("trial", "compare", "as bought", "squish set", *notebook, "--png", str(tmp_path / "v.png"))
    assert "squish set is quicker than as bought by" in text
    assert "dropped: missed the mark" in text
    assert "dropped: wrong gear" in text
    assert (tmp_path / "v-3.png").exists()  # power curves
    listed = ok("trial", "list", *notebook)
    assert [line.split("  ")[0] for line in listed.splitlines()[1:]] == ["as bought", "squish set"]
    assert "1 build, 1 revision, 2 files, 2 trials" in ok("notebook", "export", str(tmp_path / "x.zip"), *notebook)
    ok("notebook", "import", str(tmp_path / "x.zip"), "--notebook", str(tmp_path / "other.sqlite"))
    again = ok("trial", "compare", "as bought", "squish set", "--notebook", str(tmp_path / "other.sqlite"))
    assert again.partition("EVERY RUN")[0] == text.partition("EVERY RUN")[0]


def test_a_file_that_cannot_be_read_stays_out_and_says_why(tmp_path: Path) -> None:
    notebook = ("--notebook", str(tmp_path / "notebook.sqlite"))
    ok("trial", "new", "day", "--author", "Kim", *notebook)
    (tmp_path / "noise.bin").write_bytes(bytes(range(256)) * 20)
    done = scribeline("trial", "add", "day", TIMES, str(tmp_path / "noise.bin"), "--author", "Kim", *notebook)
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert "gate-times.csv: added, 26 rows" in done.stdout
    assert "noise.bin: stayed out" in done.stderr


def test_the_caution_is_said_once_where_runs_are_begun_added_and_looked_at(tmp_path: Path) -> None:
    notebook = ("--notebook", str(tmp_path / "notebook.sqlite"))
    said = [
        ok("trial", "new", "day", "--author", "Kim", *notebook),
        ok("trial", "add", "day", TIMES, str(csv_of(tmp_path / "log.csv", 1.0, 1)), "--author", "Kim", *notebook),
        ok("trial", "show", "day", *notebook),
    ]
    for text in said:
        plain = " ".join(text.split())
        assert plain.count("Full throttle belongs on a closed course, in protective clothing.") == 1
        assert "Nobody films while riding alone" in plain
        assert plain.endswith("Local law and good brakes come first.")


def test_before_the_day() -> None:
    text = ok("trial", "runs-needed", "0.15", "--scatter", "0.08")
    assert "6 runs of each setup" in text
    assert "A up    B down  B up    A down" in text
    assert "brakes" in text.partition("CAUTIONS")[2]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("trial", "compare", "nothing.csv", "--notebook", "none.sqlite"), "what to do:"),
        (("trial", "compare", TIMES, "no such setup"), "a setup called no such setup"),
        (("trial", "compare", TIMES, "--measure", "luck"), "accepted: 30 to 55 km/h"),
        (("trial", "compare", TIMES, "--png", "v.gif"), r"ends in .svg or .png"),
        (("trial", "compare", TIMES, "--decimal", ";"), "a decimal mark ';'"),
        (("trial", "runs-needed", "0", "--scatter", "0.1"), "a difference that is not 0"),
    ],
)
def test_refusals_end_with_status_2_and_say_what_to_do(arguments: tuple[str, ...], said: str) -> None:
    ran = run(shlex.join(arguments))
    assert ran.status == 2
    assert said in ran.printed
