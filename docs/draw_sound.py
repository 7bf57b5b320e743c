"""Draws docs/pictures/sound.png: `.venv/bin/python docs/draw_sound.py`. The recording in it is invented."""

from pathlib import Path
from tempfile import TemporaryDirectory

import matplotlib as mpl
import numpy as np
from PIL import Image
from scipy import signal

from scribeline.recordings import Recording, SoundOptions, read
from scribeline.recordings.formats import ReadOptions
from scribeline.recordings.sound.decoding import Soundtrack
from scribeline.recordings.sound.synthetic import Scene, engine_sound, write_sound

mpl.use("agg")
from matplotlib import pyplot as plt

TIMES = np.array([0.0, 1.5, 6.0, 7.5, 8.6, 11.0, 12.5, 14.0])
RPM = np.array([4200.0, 4200.0, 10400.0, 10600.0, 6800.0, 10200.0, 10300.0, 5000.0])
SCENE = Scene(snr_db=-8, wind=1, speech=0.9, whine=0.5, hiss=0.6, missing_below_hz=150, automatic_gain=True, seed=5)
INK, TRACK, TRUE = "#1f2a30", "#d1495b", "#8fa3ad"


def main() -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "film.m4a"
        write_sound(path, engine_sound(TIMES, RPM, SCENE))
        recording = read(path, ReadOptions(sound=SoundOptions(slowest_rpm=2500, fastest_rpm=13000)))
        samples = np.concatenate([piece.samples for piece in Soundtrack(path, "mov").pieces()])
    assert isinstance(recording, Recording)
    rpm, sure = recording.channels["rpm"], recording.channels["sound_confidence"]
    frequency, time, power = signal.spectrogram(samples, 4000, nperseg=640, noverlap=560, nfft=1024)

    plt.rcParams.update({"font.family": "DejaVu Sans", "font.size": 9, "text.color": INK, "axes.labelcolor": INK})
    figure, (above, below) = plt.subplots(
        2, 1, figsize=(8, 6), dpi=110, sharex=True, height_ratios=(3, 2), layout="constrained"
    )
    shown = frequency <= 1100
    level = 10 * np.log10(power[shown] + 1e-14)
    above.imshow(
        level, extent=(time[0], time[-1], 0, frequency[shown][-1]), origin="lower", aspect="auto", cmap="bone_r",
        interpolation="bilinear", vmin=np.percentile(level, 60), vmax=np.percentile(level, 99.8),
    )  # fmt: skip
    for part in rpm.stretches():
        for k in (1, 2, 3, 4, 5, 6):
            above.plot(rpm.time_s[part], k * rpm.values[part] / 60, color=TRACK, lw=1.6 if k == 1 else 0.5)
        below.plot(rpm.time_s[part], rpm.values[part], color=TRACK, lw=1.8)
    above.set(ylim=(20, 1100), ylabel="frequency, Hz")
    above.text(6.05, 112, "firing frequency", color=TRACK, fontsize=8)
    below.plot(TIMES, RPM, color=TRUE, lw=5, zorder=0, alpha=0.6, label="true")
    below.plot([], [], color=TRACK, lw=1.8, label="tracked, where sure")
    below.set(ylim=(0, 12500), ylabel="engine speed, rpm", xlabel="time, s", xlim=(0, 14))
    right = below.twinx()
    right.fill_between(sure.time_s, sure.values, color=INK, alpha=0.12, lw=0)
    right.axhline(0.9, color=INK, lw=0.5, ls=":")
    right.set(ylim=(0, 4), yticks=(0, 0.9), ylabel="confidence")
    right.yaxis.set_label_coords(1.055, 0.12)
    below.legend(loc="lower right", bbox_to_anchor=(1.0, 0.28), frameon=False, fontsize=8)
    for axes in (above, below, right):
        axes.spines[["top"]].set_visible(False)
    figure.canvas.draw()
    drawn = Image.fromarray(np.asarray(figure.canvas.buffer_rgba())[..., :3])
    drawn.quantize(48).save(Path(__file__).resolve().parent / "pictures" / "sound.png", optimize=True)


if __name__ == "__main__":
    main()
