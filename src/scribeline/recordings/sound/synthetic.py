"""Invented recordings of an engine with known truth: for tests, benchmarks and the demonstration, for nothing else.

A pulse for each firing goes through the resonances of a pipe and a housing; wind, speech-like voices, gear whine and
hiss are added at a stated signal to noise ratio; then come what a phone does: automatic gain, clipping, AAC. None of
this is a model of a real engine's sound: it holds the difficulties that a tracker meets, each with a knob.
"""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray
from scipy import signal

Floats = NDArray[np.float64]
RATE_HZ = 48_000


@dataclass(frozen=True)
class Scene:
    """What else is heard, and what the phone does to it. All seeds give the same engine speed, another noise.

    snr_db : power of the engine over the power of all that disturbs it, both over the whole recording, in dB
    wind, speech, whine, hiss : shares of the disturbing power; they are scaled to add up to 1
    missing_below_hz : the microphone hears little below this
    half_order : how much weaker every second firing is, 0 to 1 ("four-stroking")
    automatic_gain, clipping : what the phone does
    firings_per_turn : 1 for a single two-stroke, 0.5 for a single four-stroke
    seed : of everything random
    """

    snr_db: float = 10.0
    wind: float = 1.0
    speech: float = 0.0
    whine: float = 0.0
    hiss: float = 1.0
    missing_below_hz: float = 60.0
    half_order: float = 0.0
    automatic_gain: bool = False
    clipping: bool = False
    firings_per_turn: float = 1.0
    seed: int = 1


def engine_sound(time_s: Floats, rpm: Floats, scene: Scene, *, rate_hz: int = RATE_HZ) -> NDArray[np.float32]:
    """The stereo sound of an engine that follows the given speed.

    time_s, rpm : shape (n,), the engine speed, straight between the points; the sound lasts from 0 to the last time
    Returns shape (2, samples), within -1 to 1.
    """
    rng = np.random.default_rng(scene.seed)
    t = np.arange(round(time_s[-1] * rate_hz)) / rate_hz
    speed = np.interp(t, time_s, rpm)
    engine = _engine(speed, scene, rate_hz, rng)
    engine /= np.sqrt(np.mean(engine**2))
    shares = {"wind": scene.wind, "speech": scene.speech, "whine": scene.whine, "hiss": scene.hiss}
    total = sum(shares.values())
    noise = np.zeros((2, len(t)))
    for name, share in shares.items():
        if share:
            made = np.atleast_2d(_NOISES[name](speed, rate_hz, rng))
            noise += np.sqrt(share / total) * made / np.sqrt(np.mean(made**2))
    noise *= 10 ** (-scene.snr_db / 20) / np.sqrt(np.mean(noise**2))
    heard = engine * np.array([[1.0], [0.8]]) + noise
    if scene.automatic_gain:
        heard *= _automatic_gain(heard.mean(axis=0), rate_hz)
    heard /= 4.0 * np.sqrt(np.mean(heard**2))
    sound: NDArray[np.float32] = np.clip(3.0 * heard if scene.clipping else heard, -1, 1).astype(np.float32)
    return sound


def write_sound(path: Path, samples: NDArray[np.float32], *, rate_hz: int = RATE_HZ, kbit_s: int = 96) -> None:
    """Write a sound as its file's ending says: .m4a, .mp4, .mov (AAC), .mp3, .ogg (Opus) or .wav (16 bit)."""
    codec = {".mp3": "mp3", ".ogg": "libopus", ".wav": "pcm_s16le"}.get(path.suffix.lower(), "aac")
    ending = {".m4a": "mp4"}.get(path.suffix.lower(), path.suffix.lower().lstrip("."))
    with av.open(str(path), "w", format=ending) as container:
        stream = container.add_stream(codec, rate=rate_hz, layout="mono" if len(samples) == 1 else "stereo")
        assert isinstance(stream, av.AudioStream)
        if codec != "pcm_s16le":
            stream.bit_rate = 1000 * kbit_s
        piece = 1024 * 64
        for start in range(0, samples.shape[1], piece):
            block = np.ascontiguousarray(samples[:, start : start + piece])
            frame = av.AudioFrame.from_ndarray(block, format="fltp", layout=stream.layout.name)
            frame.sample_rate, frame.pts, frame.time_base = rate_hz, start, Fraction(1, rate_hz)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def _engine(speed: Floats, scene: Scene, rate_hz: int, rng: np.random.Generator) -> Floats:
    """One pulse a firing, each a little different, through the resonances of pipe and housing."""
    cycles = np.cumsum(speed) / 60.0 * scene.firings_per_turn / rate_hz
    number = cycles.astype(np.int64)
    strength = 1.0 + 0.15 * rng.standard_normal(number[-1] + 2)
    strength[1::2] *= 1.0 - scene.half_order
    late = 0.01 * rng.standard_normal(number[-1] + 2)  # in parts of a turn: the burn is never twice the same
    phase = cycles - number - 0.2 - late[number]
    pulse = np.where(phase > 0, phase / 0.03 * np.exp(1 - np.maximum(phase, 0) / 0.03), 0.0)
    pulse -= 0.35 * np.where(phase > 0.15, np.exp(-np.maximum(phase - 0.15, 0) / 0.06), 0.0)  # suction of the pipe
    sound = strength[number] * pulse
    shaped = 0.3 * sound
    for centre_hz, width_hz in ((230.0, 110.0), (520.0, 180.0), (1150.0, 350.0), (2400.0, 900.0)):
        b, a = signal.iirpeak(centre_hz, centre_hz / width_hz, rate_hz)
        shaped += signal.lfilter(b, a, sound)
    sos = signal.butter(4, scene.missing_below_hz, "highpass", fs=rate_hz, output="sos")
    heard: Floats = signal.sosfilt(sos, shaped)
    return heard


def _wind(speed: Floats, rate_hz: int, rng: np.random.Generator) -> Floats:
    """Rumble that falls with frequency and comes in gusts, another at each microphone."""
    sos = signal.butter(1, 90.0, fs=rate_hz, output="sos")
    rumble = signal.sosfilt(sos, rng.standard_normal((2, len(speed))))
    gusts = _slow(len(speed), rate_hz, 0.7, rng)
    blown: Floats = rumble * np.exp(0.8 * gusts)
    return blown


def _speech(speed: Floats, rate_hz: int, rng: np.random.Generator) -> Floats:
    """Voice-like: a wandering pitch with formants, in syllables and pauses."""
    pitch = 150.0 * np.exp(0.25 * _slow(len(speed), rate_hz, 2.0, rng))
    phase = np.cumsum(pitch) / rate_hz
    buzz = signal.lfilter([1.0, -0.97], [1.0], 1.0 - 2.0 * (phase % 1.0))
    voice = np.zeros_like(speed)
    for centre_hz in (500.0, 1500.0, 2500.0):
        b, a = signal.iirpeak(centre_hz, 6.0, rate_hz)
        voice += signal.lfilter(b, a, buzz) * np.exp(0.5 * _slow(len(speed), rate_hz, 4.0, rng))
    syllables = np.maximum(_slow(len(speed), rate_hz, 4.0, rng), 0.0)
    phrases = 1.0 / (1.0 + np.exp(-6.0 * _slow(len(speed), rate_hz, 0.3, rng)))
    said: Floats = voice * syllables * phrases
    return said


def _whine(speed: Floats, rate_hz: int, rng: np.random.Generator) -> Floats:
    """Meshing teeth: tones that follow the engine at orders that are no whole numbers."""
    turn = 2.0 * np.pi * np.cumsum(speed) / 60.0 / rate_hz
    sung: Floats = np.sin(7.37 * turn) + 0.4 * np.sin(14.74 * turn + 1.0)
    return sung


def _hiss(speed: Floats, rate_hz: int, rng: np.random.Generator) -> Floats:
    return rng.standard_normal((2, len(speed)))


_NOISES = {"wind": _wind, "speech": _speech, "whine": _whine, "hiss": _hiss}


def _slow(count: int, rate_hz: int, corner_hz: float, rng: np.random.Generator) -> Floats:
    """A random curve of unit spread that changes no faster than about corner_hz."""
    step = max(1, int(rate_hz / (20.0 * corner_hz)))
    points = rng.standard_normal(count // step + 200)
    smooth = signal.sosfiltfilt(signal.butter(2, 0.1, output="sos"), points)
    smooth /= np.std(smooth)
    curve: Floats = np.interp(np.arange(count) / step, np.arange(len(smooth)), smooth)
    return curve


def _automatic_gain(mono: Floats, rate_hz: int) -> Floats:
    """Gain that holds the level: down within 50 ms, up again within 1 s."""
    step = rate_hz // 100
    level = np.sqrt(np.mean(mono[: len(mono) // step * step].reshape(-1, step) ** 2, axis=1)) + 1e-6
    held = np.empty_like(level)
    now = level[0]
    for i, each in enumerate(level):
        now += (each - now) * (0.2 if each > now else 0.01)
        held[i] = now
    gain: Floats = np.interp(np.arange(len(mono)), (np.arange(len(held)) + 0.5) * step, held**-0.8)
    return gain
