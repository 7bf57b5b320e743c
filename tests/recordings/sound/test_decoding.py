"""Soundtracks in every container, damaged ones, and those that claim what they do not hold."""

import struct
from pathlib import Path

import numpy as np
import pytest
import scipy.io

from scribeline.errors import RecordingError
from scribeline.recordings import ReadOptions, Recording, SoundOptions, read
from scribeline.recordings.sound.comb import RATE_HZ
from scribeline.recordings.sound.decoding import Soundtrack
from scribeline.recordings.sound.synthetic import RATE_HZ as WRITTEN_HZ
from scribeline.recordings.sound.synthetic import Scene, engine_sound, write_sound

LAW = (np.array([0.0, 6.0]), np.array([4000.0, 10000.0]))
SOUND = engine_sound(*LAW, Scene(snr_db=20))


def written(path: Path) -> Path:
    write_sound(path, SOUND)
    return path


def rpm_error(path: Path) -> float:
    recording = read(path)
    assert isinstance(recording, Recording)
    rpm = recording.channels["rpm"]
    assert len(rpm) > 0.9 * len(recording.channels["sound_confidence"])
    return float(np.median(np.abs(rpm.values / np.interp(rpm.time_s, *LAW) - 1)))


@pytest.mark.parametrize("ending", [".m4a", ".mp4", ".mov", ".mp3", ".wav", ".ogg"])
def test_every_container(tmp_path: Path, ending: str) -> None:
    """1,000 rpm/s: a clock that is off by 30 ms shows as 0.4 %. MP3's is: it does not say its encoder's delay."""
    assert rpm_error(written(tmp_path / f"film{ending}")) < (0.005 if ending == ".mp3" else 0.002)


def test_channels_that_cancel_out_are_not_averaged(tmp_path: Path) -> None:
    path = tmp_path / "film.wav"
    write_sound(path, np.stack([SOUND[0], -SOUND[0]]))
    assert rpm_error(path) < 0.002


def test_one_channel_is_enough(tmp_path: Path) -> None:
    path = tmp_path / "film.m4a"
    write_sound(path, SOUND[:1])
    assert rpm_error(path) < 0.002


def test_a_click_stays_at_its_time(tmp_path: Path) -> None:
    """The delays of encoder, decoder and resampler are taken out by the file's own clock, to 3 ms."""
    clicks = np.zeros((2, 3 * WRITTEN_HZ), np.float32)
    clicks[:, round(1.5 * WRITTEN_HZ)] = 0.9
    path = tmp_path / "click.wav"
    for path in (tmp_path / "click.wav", tmp_path / "click.m4a", tmp_path / "click.mp3"):
        write_sound(path, clicks)
        container = {".wav": "wav", ".m4a": "mov", ".mp3": "mp3"}[path.suffix]
        pieces = list(Soundtrack(path, container).pieces())
        samples = np.concatenate([piece.samples for piece in pieces])
        at_s = pieces[0].start_s + int(np.abs(samples).argmax()) / RATE_HZ
        assert at_s == pytest.approx(1.5, abs=0.003 if path.suffix == ".wav" else 0.03)


def test_a_film_broken_off_keeps_what_was_read(tmp_path: Path) -> None:
    """MP3 needs no index at its end; an MP4 whose index is lost cannot be decoded at all, and says so."""
    path = written(tmp_path / "film.mp3")
    path.write_bytes(path.read_bytes()[: int(0.5 * path.stat().st_size)])
    assert rpm_error(path) < 0.006
    path = written(tmp_path / "film.mp4")
    path.write_bytes(path.read_bytes()[: int(0.5 * path.stat().st_size)])
    with pytest.raises(RecordingError, match="cannot be decoded"):
        read(path)


def test_damage_in_the_middle_is_survived(tmp_path: Path) -> None:
    path = written(tmp_path / "film.m4a")
    data = bytearray(path.read_bytes())
    rng = np.random.default_rng(8)
    for at in rng.integers(len(data) // 4, len(data) // 2, 200):
        data[at] ^= int(rng.integers(1, 256))
    path.write_bytes(bytes(data))
    recording = read(path)
    assert isinstance(recording, Recording)
    rpm = recording.channels["rpm"]
    late = rpm.time_s > 4.0
    assert np.median(np.abs(rpm.values[late] / np.interp(rpm.time_s[late], *LAW) - 1)) < 0.005


def wav(rate_hz: int, channels: int, claimed_bytes: int, data: bytes) -> bytes:
    form = struct.pack("<HHIIHH", 1, channels, rate_hz, min(rate_hz * channels * 2, 2**32 - 1), channels * 2, 16)
    return (
        b"RIFF" + struct.pack("<I", min(claimed_bytes + 36, 2**32 - 1)) + b"WAVEfmt " + struct.pack("<I", 16) + form
        + b"data" + struct.pack("<I", claimed_bytes) + data
    )  # fmt: skip


def test_a_claim_of_2_gb_takes_no_memory(tmp_path: Path) -> None:
    path = tmp_path / "claim.wav"
    mono = (20000 * SOUND[0]).astype("<i2").tobytes()
    path.write_bytes(wav(WRITTEN_HZ, 1, 2**31, mono))
    assert rpm_error(path) < 0.002


@pytest.mark.parametrize(("rate_hz", "channels"), [(1, 1), (2**31 - 1, 1), (48000, 60)])
def test_a_header_with_wild_numbers_is_refused(tmp_path: Path, rate_hz: int, channels: int) -> None:
    path = tmp_path / "wild.wav"
    path.write_bytes(wav(rate_hz, channels, 1000, bytes(1000)))
    with pytest.raises(RecordingError, match=r"accepted: 1 to 16 channels at 4000 to 192000 Hz|cannot be decoded"):
        read(path)


def test_a_film_without_sound_says_so(tmp_path: Path) -> None:
    import av

    path = tmp_path / "silent.mp4"
    with av.open(str(path), "w") as container:
        stream = container.add_stream("mpeg4", rate=10)
        stream.width, stream.height, stream.pix_fmt = 32, 32, "yuv420p"
        for _ in range(5):
            container.mux(stream.encode(av.VideoFrame.from_ndarray(np.zeros((32, 32, 3), np.uint8))))
        container.mux(stream.encode(None))
    with pytest.raises(RecordingError, match="has no soundtrack"):
        read(path)


def test_a_sound_of_a_few_milliseconds_is_too_short(tmp_path: Path) -> None:
    path = tmp_path / "short.wav"
    write_sound(path, SOUND[:, :2000])
    with pytest.raises(RecordingError, match="too short"):
        read(path)


SAMPLES = sorted((Path(scipy.io.__file__).parent / "tests" / "data").glob("*.wav"))


def test_samples_of_another_library_are_read_or_refused_with_a_reason() -> None:
    """WAV files that come with scipy's own tests (BSD licence): sines of a tenth of a second, some of them damaged."""
    assert len(SAMPLES) > 10
    for path in SAMPLES:
        with pytest.raises(
            RecordingError,
            match=r"too short|cannot be decoded|accepted: 1 to 16|nothing of its sound|not supported|not known here",
        ):
            read(path)


@pytest.mark.parametrize(
    "options",
    [
        SoundOptions(cylinders=0),
        SoundOptions(strokes=3),  # type: ignore[arg-type]
        SoundOptions(slowest_rpm=9000, fastest_rpm=3000),
        SoundOptions(slowest_rpm=100),
        SoundOptions(cylinders=12, strokes=2),
        SoundOptions(metres_per_turn=80.0),
    ],
)
def test_an_engine_that_cannot_be_is_refused(tmp_path: Path, options: SoundOptions) -> None:
    path = tmp_path / "film.wav"
    write_sound(path, SOUND[:, :48000])
    with pytest.raises(RecordingError, match="accepted:"):
        read(path, ReadOptions(sound=options))
