"""`scribeline card` as a builder calls it: once through as whole processes, every further turn of it in this one."""

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from scribeline import cli
from scribeline.tasks.card import card_json, engine_card_of_file, explain
from scribeline.tasks.card_page import card_page
from scribeline.tasks.card_text import card_text
from tests.examples import FOLDER, KART, SOUND, card_of, path_of


class Done(NamedTuple):
    status: int
    out: str
    err: str


Run = Callable[..., Done]


def process(*arguments: object, **environment: str) -> Done:
    """The installed command as a process of its own."""
    command = [Path(sys.executable).with_name("scribeline"), "card", *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, env={**os.environ, **environment})
    return Done(done.returncode, done.stdout.decode("utf-8", "replace"), done.stderr.decode())


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """The same entry point, called from here."""

    def call(*arguments: object) -> Done:
        monkeypatch.setattr(sys, "argv", ["scribeline", "card", *map(str, arguments)])
        with pytest.raises(SystemExit) as end:
            cli.main()
        out, err = capsys.readouterr()
        assert isinstance(end.value.code, int)
        return Done(end.value.code, out, err)

    return call


def printed(done: Done) -> str:
    assert (done.status, done.err) == (0, "")
    return done.out


def refusal(done: Done) -> str:
    """What is said of a call that is refused: on standard error, with exit status 2 and no traceback."""
    assert done.status == 2
    assert done.out == ""
    assert "Traceback" not in done.err
    return done.err


# --- whole processes -------------------------------------------------------------------------------------------------


def test_the_card_as_text_and_as_a_page(tmp_path: Path) -> None:
    page = tmp_path / "card.html"
    said = printed(process(path_of(KART), "--html", page))
    assert said == f"{card_text(card_of(KART))}\n\nThe card as a page: {page}\n"
    assert page.read_text(encoding="utf-8") == card_page(card_of(KART))


def test_a_careless_record_is_refused_with_all_its_problems() -> None:
    said = refusal(process(FOLDER / "careless.toml"))
    assert said.startswith(f"{FOLDER / 'careless.toml'}: ")
    assert said.count("accepted: ") == said.count("what to do: ") > 5
    assert "line " in said


def test_a_call_that_makes_no_sense_is_refused_by_the_process_too() -> None:
    assert "Usage: " in refusal(process(path_of(KART), "--no-such-option"))


def test_a_terminal_without_our_signs_shows_question_marks() -> None:
    said = printed(process(path_of(KART), "--no-plus-minus", "--explain", "bore_area_mm2", PYTHONIOENCODING="ascii"))
    assert "?/4 ? B?, with B" not in said
    assert "    ?/4 ? B?\n" in said


# --- what it prints --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SOUND)
def test_the_card_as_text(run: Run, name: str) -> None:
    assert printed(run(path_of(name))) == card_text(card_of(name)) + "\n"


def test_the_card_as_json_and_as_a_page_in_one_call(run: Run, tmp_path: Path) -> None:
    page = tmp_path / "card.html"
    said = printed(run(path_of(KART), "--json", "--html", page))
    assert said == card_json(card_of(KART)) + "\n"
    assert json.loads(said)["engine"]["name"] == "Club kart 98"
    assert page.read_text(encoding="utf-8") == card_page(card_of(KART))


def test_several_numbers_are_explained_in_the_order_asked_for(run: Run) -> None:
    asked = ("squish_gap_mm", "displacement_cc")
    said = printed(run(path_of(KART), *(word for name in asked for word in ("--explain", name))))
    assert said == "\n\n".join(explain(card_of(KART), name) for name in asked) + "\n"


def test_every_name_can_be_listed(run: Run) -> None:
    assert printed(run(path_of(KART), "--names")).split("\n")[:-1] == list(card_of(KART).out.values)


def test_another_speed_and_no_plus_minus(run: Run) -> None:
    document = json.loads(printed(run(path_of(KART), "--rpm", "8000", "--no-plus-minus", "--json")))
    assert document["speed_rpm"] == 8000
    assert document["values"]["mean_piston_speed_m_s"]["value"] == pytest.approx(2 * 50.000667 / 1000 * 8000 / 60)
    assert document["values"]["mean_piston_speed_m_s"]["plus_minus"] is None
    said = printed(run(path_of(KART), "--rpm", "8000", "--no-plus-minus"))
    assert said == card_text(engine_card_of_file(path_of(KART), speed_rpm=8000, plus_minus=False)) + "\n"
    assert "worked out at 8000 rpm; without +/-" in said


# --- what it refuses -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["", "stroke = ", "\x00", "[crank]\nstroke_mm = '50 mm'"])
def test_a_file_that_is_no_record_is_refused(run: Run, tmp_path: Path, text: str) -> None:
    path = tmp_path / "engine.toml"
    path.write_text(text)
    assert "what to do: " in refusal(run(path))


def test_a_file_that_is_not_there_and_a_folder_are_refused(run: Run, tmp_path: Path) -> None:
    assert "No such file or directory: check the name" in refusal(run(tmp_path / "nowhere.toml"))
    assert "check the name" in refusal(run(tmp_path))


def test_an_unknown_number_is_refused_with_the_closest_names(run: Run) -> None:
    said = refusal(run(path_of(KART), "--no-plus-minus", "--explain", "exhaust_durration_deg"))
    assert said.startswith('"exhaust_durration_deg" is no number of this card\n    accepted: exhaust_duration_deg, ')


def test_a_page_that_cannot_be_written_is_refused(run: Run, tmp_path: Path) -> None:
    said = refusal(run(path_of(KART), "--no-plus-minus", "--html", tmp_path))
    assert said.startswith(f"{tmp_path}: ")
    assert "choose another name with --html" in said


@pytest.mark.parametrize("arguments", [(), ("--no-such-option",), ("--rpm", "99"), ("--rpm", "fast"), ("extra",)])
def test_a_call_that_makes_no_sense_is_refused_with_the_usage(run: Run, arguments: tuple[str, ...]) -> None:
    engine = () if arguments == () else (path_of(KART),)
    assert "Usage: " in refusal(run(*engine, *arguments))


@pytest.mark.parametrize("pair", [("--json", "--names"), ("--json", "--explain", "x"), ("--names", "--explain", "x")])
def test_kinds_of_output_exclude_each_other(run: Run, pair: tuple[str, ...]) -> None:
    assert "choose one of --json, --names and --explain" in refusal(run(path_of(KART), *pair))
