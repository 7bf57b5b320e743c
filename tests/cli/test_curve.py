"""The commands `curve` and `trace` from outside: what they print, write and refuse."""

import csv
import io
import json
from pathlib import Path

import cv2
import numpy as np
import pytest

from tests.cli.test_record import scribeline

KART = "examples/club-kart-98.toml"
QUICK = ("--cell", "30")


def test_curve_prints_a_table_and_nothing_beside_it_when_piped(tmp_path: Path):
    done = scribeline(
        "curve", KART, "--rpm", "9000", *QUICK, "--html", str(tmp_path / "a.html"), "--svg", str(tmp_path / "a.svg")
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "WHAT LIMITS THE ENGINE" in done.stdout
    assert (tmp_path / "a.html").read_text().startswith("<!doctype html>")
    assert (tmp_path / "a.svg").read_text().startswith("<svg")


def test_curve_as_json_with_another_engine():
    done = scribeline("curve", KART, "--rpm", "9000", "--json", "--compare", "examples/reed-125.toml", *QUICK)
    assert (done.returncode, done.stderr) == (0, "")
    document = json.loads(done.stdout)
    assert document["points"][0]["speed_rpm"] == document["compare"]["points"][0]["speed_rpm"] == 9000


@pytest.mark.parametrize("command", ["curve", "trace"])
def test_the_drawing_as_a_picture(command, tmp_path: Path):
    done = scribeline(command, KART, "--rpm", "9000", *QUICK, "--png", str(tmp_path / "a.png"))
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.endswith(f"as a picture: {tmp_path / 'a.png'}\n")
    picture = cv2.imread(str(tmp_path / "a.png"))
    assert picture.shape[1] == 2000
    assert picture.min() < 60 < 240 < np.median(picture)


def test_trace_as_csv():
    done = scribeline("trace", KART, "--rpm", "9000", "--csv", *QUICK)
    assert (done.returncode, done.stderr) == (0, "")
    assert len(list(csv.DictReader(io.StringIO(done.stdout)))) == 720


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("curve", KART, "--rpm", "12000:4000:500"), "accepted: FIRST:LAST:STEP"),
        (("curve", "examples/careless.toml"), "34 problems"),
        (("trace", KART, "--rpm", "9000", "--png", "README.md/a.png", *QUICK), "choose another name"),
    ],
)
def test_refusals_end_with_status_2_and_say_what_to_do(arguments, said):
    done = scribeline(*arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr
    assert "Traceback" not in done.stderr
