"""The sound picture: dark where the engine's lines are, the tracked line on them, kept once it is made."""

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from scribeline.errors import RecordingError
from scribeline.recordings.sound.synthetic import Scene, engine_sound, write_sound
from scribeline.tasks.trial_spectrum import Heard, keep_picture, kept_picture, sound_picture

TIMES, RPM = np.array([0.0, 4.0]), np.array([6000.0, 6000.0])


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Heard:
    path = tmp_path_factory.mktemp("sound") / "film.m4a"
    write_sound(path, engine_sound(TIMES, RPM, Scene(snr_db=10.0, hiss=0.3, seed=2)))
    told: list[str] = []
    heard = sound_picture(path, {"heard": {"slowest_rpm": 3000.0, "fastest_rpm": 12000.0}}, tell=told.append)
    assert told == ["heard"]
    return heard


def test_the_lines_lie_where_the_engine_fires(made: Heard) -> None:
    """6000 rpm of a single two-stroke are 100 Hz: lines at 100, 200, 300 Hz, and nothing half way between."""
    ink = np.asarray(Image.open(io.BytesIO(made.png)))[..., 1].astype(float)
    rows = ink.shape[0]

    def dark(hz: float) -> float:
        row = rows - 1 - int(hz / made.top_hz * rows)
        return float(ink[row - 1 : row + 2].max(axis=0).mean())

    for line in (200.0, 300.0, 400.0):
        assert dark(line) > 4.0 * dark(line + 50.0)
    assert made.top_hz == 600.0
    assert (made.from_s, made.to_s) == pytest.approx((0.0, 4.0), abs=0.25)


def test_the_tracked_line_is_that_of_the_tracker(made: Heard) -> None:
    hz = np.concatenate([piece[1] for piece in made.line])
    assert np.median(np.abs(hz - 100.0)) < 0.5
    assert made.per_turn == 1.0
    assert made.sure_share > 0.9
    assert "once every turn" in made.octave_words
    sure_s = sum(t[-1] - t[0] for t, _ in made.line)
    gaps_s = sum(b - a for a, b in made.gaps)
    assert sure_s + gaps_s == pytest.approx(made.to_s - made.from_s, abs=0.3)


def test_it_is_kept_and_found_again_and_a_broken_copy_is_none(made: Heard, tmp_path: Path) -> None:
    assert kept_picture(tmp_path, "abc") is None
    keep_picture(tmp_path / "pictures", "abc", made)
    assert kept_picture(tmp_path / "pictures", "abc") == made
    (tmp_path / "pictures" / "abc.json").write_text("{}")
    assert kept_picture(tmp_path / "pictures", "abc") is None


def test_a_log_has_no_picture(tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text("time (s),speed (km/h)\n" + "\n".join(f"{i / 10},{i}" for i in range(50)) + "\n")
    with pytest.raises(RecordingError, match="no sound is in this recording"):
        sound_picture(tmp_path / "log.csv", {})
