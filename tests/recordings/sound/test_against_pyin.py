"""An independent pitch tracker on easy recordings: pYIN of librosa, which works on the wave, not on spectra.

M. Mauch, S. Dixon, pYIN: a fundamental frequency estimator using probabilistic threshold distributions, ICASSP 2014.
It runs in a process of its own: compiling librosa takes half a minute the first time, and is kept beside librosa. In
our own folder of compiled code it would be lost with every change of our source.
"""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np

from scribeline.recordings import Recording, read
from scribeline.recordings.sound.decoding import Soundtrack
from scribeline.recordings.sound.synthetic import Scene, engine_sound, write_sound

HOP_S = 0.06
PYIN = """
import sys
import librosa, numpy
heard = librosa.pyin(numpy.load(sys.argv[1]), fmin=60.0, fmax=230.0, sr=4000, frame_length=512, hop_length=240,
                     resolution=0.2, max_transition_rate=10)
numpy.save(sys.argv[2], numpy.array([heard[0], heard[1]]))
"""


def test_both_hear_the_same_engine(tmp_path: Path) -> None:
    path = tmp_path / "easy.m4a"
    law = np.array([0.0, 1.5, 3.0]), np.array([6000.0, 6900.0, 9000.0])
    write_sound(path, engine_sound(*law, Scene(snr_db=20, wind=0.2)))
    np.save(tmp_path / "in.npy", np.concatenate([piece.samples for piece in Soundtrack(path, "mov").pieces()]))
    own = {name: value for name, value in os.environ.items() if name != "NUMBA_CACHE_DIR"}
    command = [sys.executable, "-W", "ignore", "-c", PYIN, tmp_path / "in.npy", tmp_path / "out.npy"]
    subprocess.run(command, check=True, env=own)
    pitch_hz, voiced = np.load(tmp_path / "out.npy")
    recording = read(path)
    assert isinstance(recording, Recording)
    ours = recording.channels["rpm"]
    theirs_s = np.arange(len(pitch_hz)) * HOP_S
    inner = (voiced > 0) & (theirs_s > 0.2) & (theirs_s < 2.8)
    assert inner.mean() > 0.3
    apart = np.abs(60.0 * pitch_hz[inner] / np.interp(theirs_s[inner], ours.time_s, ours.values) - 1.0)
    assert np.median(apart) < 0.01
    assert apart.max() < 0.03
