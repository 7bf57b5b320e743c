"""Short stretches that no engine gets to are doubted, and what an engine does is not."""

import doctest

import numpy as np
import pytest

from scribeline.recordings.sound import CONFIDENT
from scribeline.recordings.sound import alone as module
from scribeline.recordings.sound.alone import alone
from scribeline.recordings.sound.synthetic import Scene
from tests.recordings.sound.scenes import PULLS, heard, met

STEP = 0.02
T = np.arange(300) * STEP


def test_examples_in_the_docstrings() -> None:
    results = doctest.testmod(module)
    assert (results.attempted >= 1, results.failed) == (True, 0)


@pytest.mark.parametrize(
    ("rpm_there", "from_s", "to_s", "doubted"),
    [
        (9000.0, 2.0, 2.4, True),  # a vowel
        (9000.0, 2.0, 2.9, False),  # longer than a vowel
        (3500.0, 2.0, 2.4, False),  # 500 rpm in 0.2 s: an engine gets there
        (3080.0, 2.0, 2.1, False),  # the same speed as before, if only for a moment
    ],
)
def test_what_is_short_and_cannot_be_got_to_is_doubted(
    rpm_there: float, from_s: float, to_s: float, doubted: bool
) -> None:
    inside = (from_s <= T) & (to_s > T)
    sure = (from_s - 0.2 > T) | inside | (to_s + 0.2 <= T)
    found = alone(T, np.where(inside, rpm_there, 3000.0), sure, STEP)
    assert found[inside].all() == doubted
    assert not found[~inside].any()


def test_two_vowels_do_not_vouch_for_each_other() -> None:
    rpm = np.full(T.size, 3000.0)
    first, second = (T >= 2.0) & (T < 2.3), (T >= 2.5) & (T < 2.8)
    rpm[first], rpm[second] = 9000.0, 5000.0
    sure = (T < 1.8) | first | second | (T >= 3.0)
    assert alone(T, rpm, sure, STEP).sum() == first.sum() + second.sum()


def test_nothing_sure_is_nothing_doubted() -> None:
    assert not alone(T, np.full(T.size, 3000.0), np.zeros(T.size, bool), STEP).any()


def test_a_voice_5_db_above_the_engine_is_not_taken_for_it() -> None:
    """The recording that had 3.9 % of its instants sure of a voice; the engine itself is known as before."""
    scene = Scene(snr_db=-5.0, speech=2.0, wind=0.5, hiss=0.2, missing_below_hz=300.0, automatic_gain=True, seed=11)
    recording = heard(PULLS, scene)
    result = met(recording, PULLS)
    assert result.sure_but_wrong < 0.01
    assert result.sure > 0.8
    every = recording.channels["sound_confidence"]
    voice = (every.time_s > 1.7) & (every.time_s < 2.1)
    assert every.values[voice].max() < CONFIDENT
