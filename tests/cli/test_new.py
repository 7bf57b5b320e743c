"""`scribeline new` as a builder meets it: real processes, fed by a pipe or sitting at a real (pseudo) terminal."""

import os
import pty
import re
import select
import signal
import subprocess
import sys
import time
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from scribeline.engine import read_record, read_record_file
from scribeline.tasks.new_record import Conversation, load_part, save_part
from tests.engine.samples import SOUND
from tests.tasks.builder import begun
from tests.tasks.test_new_record import EXPECTED, SCRIPT

SCRIBELINE = str(Path(sys.executable).with_name("scribeline"))
SAMPLE = tomllib.loads(SOUND)
LAST = "vehicle.drag_area_m2"


def piped(folder: Path, lines: list[str] | bytes, *arguments: str) -> subprocess.CompletedProcess[str]:
    typed = lines if isinstance(lines, bytes) else "".join(f"{line}\n" for line in lines).encode()
    done = subprocess.run(
        [SCRIBELINE, "new", *arguments], cwd=folder, input=typed, capture_output=True, timeout=60, check=False
    )
    return subprocess.CompletedProcess(done.args, done.returncode, done.stdout.decode(), done.stderr.decode())


def almost_finished(path: Path) -> None:
    """Keep the sample engine's answers but the last, as if the builder had stopped there."""
    save_part(begun(SAMPLE, LAST), path)


def test_a_whole_engine_comes_in_through_a_pipe(tmp_path: Path) -> None:
    done = piped(tmp_path, [typed for typed, _ in SCRIPT], "barn find.toml")
    assert (done.returncode, done.stderr) == (0, "")
    assert read_record_file(tmp_path / "barn find.toml") == read_record(EXPECTED)
    assert os.listdir(tmp_path) == ["barn find.toml"]
    assert "\ncrank, 2 of 3\nrod length\ncentre of the big-end eye to centre of the small-end eye\n" in done.stdout
    assert "10 to 600 mm; ± 0.05 mm unless you type another (caliper)\n> 3 15/16 in ± 0.004 in\n" in done.stdout
    assert "“9.500” is refused: 9.500 could be" in done.stdout
    assert done.stdout.endswith("\nWritten: barn find.toml\nNext: scribeline card 'barn find.toml'\n")


def test_the_file_is_asked_for_where_none_is_named(tmp_path: Path) -> None:
    almost_finished(tmp_path / "kart.toml")
    done = piped(tmp_path, ["kart.toml", "y", ""])
    assert done.returncode == 0
    assert done.stdout.startswith("Name of the file to write, such as my-engine.toml: kart.toml\n")
    assert read_record_file(tmp_path / "kart.toml") == read_record(SOUND)
    almost_finished(tmp_path / "my-engine.toml")
    assert piped(tmp_path, ["", "", ""]).returncode == 0
    assert read_record_file(tmp_path / "my-engine.toml") == read_record(SOUND)


def test_input_that_ends_too_early_keeps_what_was_typed(tmp_path: Path) -> None:
    done = piped(tmp_path, ["Kart", "", "9000", "2 in"], "kart.toml")
    assert (done.returncode, done.stderr) == (1, "")
    assert "Everything typed so far is in kart.toml.part\n" in done.stdout
    assert "To go on from there: scribeline new kart.toml\n" in done.stdout
    kept = load_part(tmp_path / "kart.toml")
    assert kept is not None
    assert kept.answers == {"name": "Kart", "note": "", "speed_rpm": "9000", "crank.stroke_mm": "2 in"}
    assert not (tmp_path / "kart.toml").exists()


def test_a_file_that_is_there_stays_unless_the_builder_says_otherwise(tmp_path: Path) -> None:
    path = tmp_path / "kart.toml"
    path.write_text("precious")
    almost_finished(path)
    for answer in ("", "n", "perhaps\nno"):
        done = piped(tmp_path, [answer], "kart.toml")
        assert done.returncode == 1
        assert "kart.toml is there already. Overwrite it at the end? [y/N]" in done.stdout
        assert "Nothing was changed." in done.stdout
        assert path.read_text() == "precious"
    assert piped(tmp_path, ["y", "y", ""], "kart.toml").returncode == 0
    assert read_record_file(path) == read_record(SOUND)


def test_a_new_go_sets_the_earlier_answers_aside(tmp_path: Path) -> None:
    almost_finished(tmp_path / "kart.toml")
    done = piped(tmp_path, ["n", "Other"], "kart.toml")
    assert done.returncode == 1
    assert re.search(r"kart\.toml\.part holds \d+ answers of an earlier go\. Go on from there\? \[Y/n\]", done.stdout)
    assert "Starting anew; the earlier answers are now in kart.toml.part.1" in done.stdout
    kept = load_part(tmp_path / "kart.toml")
    assert kept is not None
    assert kept.answers == {"name": "Other"}
    assert (tmp_path / "kart.toml.part.1").exists()


@pytest.mark.parametrize("name", ["nowhere/kart.toml", "."])
def test_a_name_that_cannot_be_written_is_refused_before_anything_is_asked(name: str, tmp_path: Path) -> None:
    done = piped(tmp_path, ["Kart"], name)
    assert done.returncode == 2
    assert "accepted: a file name in a folder that is there" in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""


def test_bytes_that_are_no_text_are_refused(tmp_path: Path) -> None:
    done = piped(tmp_path, b"K\xe4rt\nKart\n", "kart.toml")
    assert (done.returncode, done.stderr) == (1, "")
    assert "That is no text that can be kept" in done.stdout
    kept = load_part(tmp_path / "kart.toml")
    assert kept is not None
    assert kept.answers == {"name": "Kart"}


def test_the_conversation_in_the_how_to_is_the_real_one(tmp_path: Path) -> None:
    page = (Path(__file__).parents[2] / "docs" / "howto" / "start-a-record.md").read_text()
    shown = page.split("```console\n")[1].split("```")[0]
    typed = [line.removeprefix("> ") for line in shown.split("\n") if line.startswith("> ")]
    assert len(typed) == 5
    done = piped(tmp_path, ["Kart", "", "9000", *typed], "my-engine.toml")
    assert shown in done.stdout


class Terminal:
    """The builder's side of a pseudo-terminal with `scribeline new` at it."""

    def __init__(self, handle: int, process: "subprocess.Popen[bytes]") -> None:
        self.handle = handle
        self.process = process
        self.seen = ""

    def wait_for(self, words: str, seconds: float = 40.0) -> str:
        """Everything shown up to `words`, which are waited for; what comes later is left for the next call."""
        end = time.monotonic() + seconds
        while words not in self.seen:
            ready, _, _ = select.select([self.handle], [], [], max(0.0, end - time.monotonic()))
            assert ready, f"{words!r} did not come; there came {self.seen!r}"
            try:
                read = os.read(self.handle, 65536)
            except OSError:  # Linux says so when the other side is gone
                read = b""
            assert read, f"{words!r} did not come before the end; there came {self.seen!r}"
            self.seen += re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", read.decode()).replace("\r\n", "\n")
        shown, _, self.seen = self.seen.partition(words)
        return shown + words

    def type(self, keys: str) -> None:
        time.sleep(0.2)  # a hand is slower than the line editor, which drops keys while it sets the terminal up
        os.write(self.handle, keys.encode())


@contextmanager
def at_a_terminal(folder: Path, *arguments: str) -> Iterator[Terminal]:
    builders_side, programs_side = pty.openpty()
    environment = {**os.environ, "TERM": "xterm", "COLUMNS": "100", "LINES": "40"}
    process = subprocess.Popen(
        [SCRIBELINE, "new", *arguments],
        cwd=folder,
        env=environment,
        stdin=programs_side,
        stdout=programs_side,
        stderr=programs_side,
        start_new_session=True,
        preexec_fn=_take_the_terminal,
    )
    os.close(programs_side)
    try:
        yield Terminal(builders_side, process)
    finally:
        if process.poll() is None:
            process.kill()
        process.wait()
        os.close(builders_side)


def _take_the_terminal() -> None:
    """Make the terminal the process's own, so that Ctrl-C typed there reaches it as it reaches any program."""
    import fcntl
    import termios

    fcntl.ioctl(0, termios.TIOCSCTTY, 0)


def test_at_a_terminal_one_can_go_back_be_refused_stop_and_go_on(tmp_path: Path) -> None:
    with at_a_terminal(tmp_path, "kart.toml") as terminal:
        assert "engine, 1 of 7\na name for the engine\n" in terminal.wait_for("> ")
        for typed, then in [
            ("Kart", "a note"),
            ("", "engine speed for the card"),
            ("fast", "“fast” is refused: there is no number at its beginning"),
            ("9000", "stroke"),
            ("49", "rod length"),
            ("<", "Enter: keep “49”"),
            ("50,0", "= 50.000 ± 0.050 mm"),
            ("?", "explains more"),
            ("100", "pin offset"),
        ]:
            terminal.type(f"{typed}\n")
            terminal.wait_for(then)
            terminal.wait_for("> ")
        terminal.type("0.")
        time.sleep(0.2)
        terminal.type("\x03")  # Ctrl-C, with an answer half typed
        stopped = terminal.wait_for("Stopped.")
        assert "Everything typed so far is in kart.toml.part" in stopped
        assert "To go on from there: scribeline new kart.toml" in stopped
        assert "Traceback" not in stopped
        assert terminal.process.wait(timeout=20) == 130
    with at_a_terminal(tmp_path, "kart.toml") as terminal:
        terminal.wait_for("holds 5 answers of an earlier go. Go on from there? [Y/n] ")
        terminal.type("\n")
        assert "pin offset" in terminal.wait_for("> ")
        terminal.type("\x04")  # Ctrl-D ends the input
        assert "Everything typed so far" in terminal.wait_for("Stopped.")
        assert terminal.process.wait(timeout=20) == 1
    kept = load_part(tmp_path / "kart.toml")
    assert kept == Conversation(
        {
            "name": "Kart",
            "note": "",
            "speed_rpm": "9000",
            "crank.stroke_mm": "50,0",
            "crank.rod_length_mm": "100",
        }
    )


def test_at_a_terminal_what_cannot_be_is_asked_again_and_the_record_written(tmp_path: Path) -> None:
    save_part(begun(SAMPLE, LAST, {"crank.rod_length_mm": "24"}), tmp_path / "kart.toml")
    with at_a_terminal(tmp_path, "kart.toml") as terminal:
        terminal.wait_for("[Y/n] ")
        terminal.type("y\n")
        terminal.wait_for("> ")
        terminal.type("\n")
        refused = terminal.wait_for("> ")
        assert "rod length = 24\n    accepted: more than half the stroke plus the pin offset, 25.5 mm\n" in refused
        assert "Enter: keep “24”" in refused
        terminal.type("100\n")
        assert "Written: kart.toml\nNext: scribeline card kart.toml\n" in terminal.wait_for("card kart.toml\n")
        assert terminal.process.wait(timeout=20) == 0
    assert read_record_file(tmp_path / "kart.toml") == read_record(SOUND)


def test_an_interrupt_from_outside_keeps_what_was_typed(tmp_path: Path) -> None:
    """Through a pipe that stays open: the signal comes while the program waits for the next line."""
    process = subprocess.Popen(
        [SCRIBELINE, "new", "kart.toml"], cwd=tmp_path, stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write(b"Kart\n\n9000\n")
    process.stdin.flush()
    shown = b""
    while b"stroke" not in shown:
        read = os.read(process.stdout.fileno(), 65536)
        assert read, f"it ended after {shown!r}"
        shown += read
    process.send_signal(signal.SIGINT)
    rest, _ = process.communicate(timeout=20)
    assert process.returncode == 130
    assert b"Everything typed so far is in kart.toml.part" in rest
    kept = load_part(tmp_path / "kart.toml")
    assert kept is not None
    assert kept.answers == {"name": "Kart", "note": "", "speed_rpm": "9000"}


def test_an_interrupt_before_the_first_answer_leaves_nothing_behind(tmp_path: Path) -> None:
    with at_a_terminal(tmp_path, "kart.toml") as terminal:
        terminal.wait_for("> ")
        terminal.type("\x03")
        assert "Everything typed" not in terminal.wait_for("Stopped.")
        assert terminal.process.wait(timeout=20) == 130
    assert os.listdir(tmp_path) == []
