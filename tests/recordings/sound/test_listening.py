"""Engine speed out of invented recordings with known truth, and where it must not be sure of anything."""

import numpy as np
import pytest

from scribeline.recordings import Channel, SoundOptions
from scribeline.recordings.sound.comb import RATE_HZ
from scribeline.recordings.sound.decoding import Piece
from scribeline.recordings.sound.listening import BLOCK, MARGIN, doppler_share, listen
from scribeline.recordings.sound.synthetic import Scene, engine_sound
from tests.recordings.sound.scenes import PULLS, QUICK, SLOW, Law, heard, met, truth

# A small part of what benchmarks/bench_sound.py goes through: law, scene, and how much of it must be known at least.
GRID = {
    "quiet": (PULLS, Scene(snr_db=20), 0.97),
    "wind and hiss, as loud as the engine": (PULLS, Scene(snr_db=0), 0.9),
    "4,000 rpm/s, wind": (QUICK, Scene(snr_db=5, hiss=0.2), 0.8),
    "voices, louder than the engine": (SLOW, Scene(snr_db=-5, speech=2, wind=0.5, hiss=0.2), 0.9),
    "gear whine, louder than the engine": (SLOW, Scene(snr_db=-5, whine=2), 0.8),
    "no fundamental, automatic gain": (PULLS, Scene(snr_db=5, missing_below_hz=300, automatic_gain=True), 0.9),
    "clipped, every second firing weaker": (PULLS, Scene(snr_db=10, half_order=0.3, clipping=True), 0.95),
    "every second firing at 0.6 of the first": (SLOW, Scene(snr_db=10, half_order=0.4), 0.95),
    "all of it": (
        SLOW,
        Scene(snr_db=-5, speech=1, whine=1, missing_below_hz=250, automatic_gain=True, clipping=True),
        0.7,
    ),
}


@pytest.mark.parametrize("name", GRID)
def test_the_engine_is_followed_and_doubt_is_said(name: str) -> None:
    law, scene, least = GRID[name]
    result = met(heard(law, scene), law)
    assert result.median_error < 0.005
    assert result.sure_but_wrong < 0.01
    assert result.sure > least


@pytest.mark.parametrize("name", ["quiet", "wind and hiss, as loud as the engine"])
def test_the_plus_minus_holds_the_truth(name: str) -> None:
    law, scene, _ = GRID[name]
    rpm = heard(law, scene).channels["rpm"]
    assert rpm.plus_minus is not None
    inside = np.abs(rpm.values - truth(law, rpm.time_s)) <= rpm.plus_minus
    assert inside.mean() > 0.95
    assert np.median(rpm.plus_minus / rpm.values) < 0.01


@pytest.mark.parametrize("disturbance", [{"speech": 1.0, "wind": 0.3}, {"wind": 1.0}, {"hiss": 1.0}])
def test_where_no_engine_runs_nothing_is_sure(disturbance: dict[str, float]) -> None:
    scene = Scene(snr_db=-60, **({"wind": 0.0, "hiss": 0.0} | disturbance))  # type: ignore[arg-type]
    result = met(heard(SLOW, scene), SLOW)
    assert result.sure < 0.03


def test_the_confidence_is_given_at_every_instant() -> None:
    every = heard(QUICK, GRID["4,000 rpm/s, wind"][1]).channels["sound_confidence"]
    assert np.allclose(np.diff(every.time_s), 0.02)
    assert every.time_s[0] < 0.1
    assert every.time_s[-1] > 11.9
    assert every.values.min() < 0.9 < every.values.max()


def test_a_four_stroke_single_fires_every_second_turn() -> None:
    scene = Scene(snr_db=10, firings_per_turn=0.5)
    result = met(heard(SLOW, scene, SoundOptions(strokes=4, slowest_rpm=2000, fastest_rpm=12000)), SLOW)
    assert (result.sure > 0.95, result.median_error < 0.005, result.sure_but_wrong < 0.01) == (True, True, True)


def test_two_cylinders_that_fire_in_turn_are_no_engine_of_twice_the_speed() -> None:
    scene = Scene(snr_db=10, firings_per_turn=2.0)
    result = met(heard(SLOW, scene, SoundOptions(cylinders=2)), SLOW)
    assert (result.sure > 0.95, result.median_error < 0.005, result.sure_but_wrong < 0.01) == (True, True, True)


def test_a_speed_trace_and_the_gearing_settle_the_octave() -> None:
    """Every second firing is so weak that half the speed fits better by ear; the road speed says which it is."""
    scene = Scene(snr_db=20, half_order=0.6)
    alone = met(heard(SLOW, scene), SLOW)
    time_s = np.arange(0.0, 13.0, 0.2)
    speed = Channel(time_s, truth(SLOW, time_s) / 60 * 0.15, "m/s")
    helped = met(heard(SLOW, scene, SoundOptions(metres_per_turn=0.15, speed=speed)), SLOW)
    assert alone.sure_but_wrong > 0.5
    assert helped.sure_but_wrong < 0.01
    assert helped.sure > 0.95


def test_gearing_gives_road_speed() -> None:
    recording = heard(SLOW, Scene(snr_db=20), SoundOptions(metres_per_turn=0.1444))
    rpm, road = recording.channels["rpm"], recording.channels["geared_speed_m_s"]
    assert np.allclose(road.values, rpm.values / 60 * 0.1444)
    assert any("clutch does not slip" in note.what for note in recording.notes)


def test_a_standing_camera_widens_the_plus_minus_and_says_why() -> None:
    on_board = heard(SLOW, Scene(snr_db=20), SoundOptions(metres_per_turn=0.1444)).channels["rpm"]
    standing = heard(SLOW, Scene(snr_db=20), SoundOptions(metres_per_turn=0.1444, camera="standing"))
    rpm = standing.channels["rpm"]
    assert rpm.plus_minus is not None
    assert on_board.plus_minus is not None
    share = rpm.values / 60 * 0.1444 / 343.0
    assert np.allclose(rpm.plus_minus, np.hypot(on_board.plus_minus, share * rpm.values))
    assert any("Doppler" in note.what for note in standing.notes)


def test_the_doppler_share_is_road_speed_over_the_speed_of_sound() -> None:
    rpm, time_s = np.array([6000.0]), np.array([1.0])
    speed = Channel([0, 2], [34.3, 34.3], "m/s")
    assert doppler_share(rpm, time_s, SoundOptions(camera="standing", speed=speed)) == pytest.approx(0.1)
    assert doppler_share(rpm, time_s, SoundOptions(metres_per_turn=0.1715)) == pytest.approx(0.05)


def sound_of(law: Law, snr_db: float = 20.0) -> np.ndarray:
    """Mono at the rate of the comb; made at that rate, as nothing is encoded here."""
    sound = engine_sound(np.array(law[0]), np.array(law[1]), Scene(snr_db=snr_db), rate_hz=2 * RATE_HZ)
    return np.ascontiguousarray(sound.mean(axis=0)[::2])


def test_blocks_join_without_a_seam() -> None:
    """45 s are three blocks; cut into small pieces the instants are those of one even row."""
    law = ((0.0, 20.0, 26.0, 45.0), (4000.0, 9000.0, 5000.0, 9000.0))
    samples = sound_of(law)
    pieces = [Piece(start / RATE_HZ, samples[start : start + 999]) for start in range(0, len(samples), 999)]
    track = listen(pieces, SoundOptions())
    assert np.allclose(np.diff(track.time_s), 0.02)
    assert track.breaks_s == ()
    seams = [(BLOCK * i + MARGIN) / RATE_HZ for i in (1, 2)]
    for seam in seams:
        near = np.abs(track.time_s - seam) < 0.3
        assert np.abs(track.rpm[near] / truth(law, track.time_s[near]) - 1).max() < 0.01
        assert track.confidence[near].min() > 0.9


def test_a_jump_of_the_files_clock_is_a_break() -> None:
    samples = sound_of(SLOW)
    half = len(samples) // 2
    pieces = [Piece(10.0, samples[:half]), Piece(10.0 + half / RATE_HZ + 5.0, samples[half:])]
    track = listen(pieces, SoundOptions())
    assert len(track.breaks_s) == 1
    assert track.breaks_s[0] == pytest.approx(10.0 + half / RATE_HZ, abs=0.1)
    late = track.time_s > track.breaks_s[0]
    assert track.time_s[late][0] == pytest.approx(15.0 + half / RATE_HZ, abs=0.1)
    original_s = np.where(late, track.time_s - 15.0, track.time_s - 10.0)
    assert np.median(np.abs(track.rpm / truth(SLOW, original_s) - 1)) < 0.005


def test_silence_and_next_to_nothing() -> None:
    track = listen([Piece(0.0, np.zeros(3 * RATE_HZ, np.float32))], SoundOptions())
    assert track.confidence.max() < 0.5
    assert len(listen([Piece(0.0, np.zeros(100, np.float32))], SoundOptions()).time_s) == 0
    assert len(listen([], SoundOptions()).time_s) == 0
