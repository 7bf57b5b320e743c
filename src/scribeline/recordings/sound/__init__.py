"""The soundtrack of a phone video or an audio file -> engine speed against time. README.md tells how.

`listening` goes through the sound, `comb` scores every speed at every instant, `smoothing` finds the path of an engine
through the scores and says how sure it is, `alone` doubts what a voice could be, `gearing` makes road speed and clutch
slip of it.
"""

from pathlib import Path

import numpy as np

from scribeline.errors import RecordingError
from scribeline.recordings.formats import NO, YES, Answer, ReadOptions, SoundOptions, unsupported
from scribeline.recordings.recording import Channel, Note, Recording

NAME = "sound"
WHAT = "the sound of a video or audio file (MP4, MOV, M4A, MP3, WAV, OGG)"

CONFIDENT = 0.9
"""Confidence from which on an instant counts as known; below it the engine speed has a gap."""

DOUBTED = 0.5
"""Confidence at most of what stands alone and is as likely a voice (alone.py)."""


def recognise(path: Path, head: bytes) -> Answer:
    """By the container's signature."""
    if container_of(head):
        return YES
    other = {
        b"fLaC": "FLAC",
        b"\x1aE\xdf\xa3": "Matroska or WebM",
        b"#!AMR": "AMR",
        b"OggS": "OGG",
        b"FORM": "AIFF",
        b"RIFX": "big-endian WAV",
    }
    other |= {b"RF64": "RF64 (WAV of more than 4 GB)"}
    for signature, name in other.items():
        if head.startswith(signature):
            return unsupported(f"{name} is not read; convert it to WAV or M4A with any sound program")
    if head.startswith((b"#EXTM3U", b"[playlist]")):
        return unsupported("it is a playlist, which names other files and holds no sound")
    return NO


def read(path: Path, options: ReadOptions) -> Recording:
    """Engine speed where it is sure, and the confidence at every instant. Time 0 is that of the file's own clock."""
    from scribeline.recordings.sound.alone import alone
    from scribeline.recordings.sound.comb import HOP, RATE_HZ
    from scribeline.recordings.sound.decoding import Soundtrack  # the media library loads slowly
    from scribeline.recordings.sound.listening import doppler_share, listen

    known = options.sound
    _check(known)
    with path.open("rb") as file:
        container = container_of(file.read(4096)) or ""
    soundtrack = Soundtrack(path, container)
    track = listen(soundtrack.pieces(), known)
    if not len(track.time_s):
        raise RecordingError(f"{path.name}: the sound is too short\n    accepted: a second or more")
    notes = list(soundtrack.notes)
    if soundtrack.start_utc is not None:
        notes.append(Note("the start is the moment the file says it was made at; some phones write the end there"))
    plus_minus = track.plus_minus_rpm
    if known.camera == "standing":
        shift = doppler_share(track.rpm, track.time_s, known)
        plus_minus = np.hypot(plus_minus, shift * track.rpm)
        notes.append(
            Note(
                f"the camera stood still: coming towards it the engine is heard up to {100 * shift.max():.0f} % too "
                "high, leaving it too low (Doppler). The +/- holds that; rest no difference between runs on it"
            )
        )
    sure = track.confidence >= CONFIDENT
    voices = alone(track.time_s, track.rpm, sure, HOP / RATE_HZ)
    confidence = np.where(voices, np.minimum(track.confidence, DOUBTED), track.confidence)
    sure &= ~voices
    notes.append(Note(f"engine speed is known in {100 * sure.mean():.0f} % of the recording; the rest is left as gaps"))
    if known.speed is None and sure.any():
        notes.append(
            Note(
                "by ear alone: an engine that fires much weaker every second time can be taken for one of half its "
                "speed. A narrower range of engine speeds, or a road speed with the gearing, settles it"
            )
        )
    channels = {"sound_confidence": Channel(track.time_s, confidence, "share")}
    if sure.any():
        rpm = Channel(track.time_s[sure], track.rpm[sure], "rpm", plus_minus[sure], confidence[sure])
        channels["rpm"] = rpm
        if known.metres_per_turn:
            from scribeline.recordings.sound.gearing import geared_speed

            channels["geared_speed_m_s"] = geared_speed(rpm, known.metres_per_turn)
            notes.append(Note("geared_speed_m_s is the road speed only while the clutch does not slip"))
    return Recording(path.name, NAME, soundtrack.start_utc, channels, track.breaks_s, tuple(notes))


def container_of(head: bytes) -> str | None:
    """The media library's name for the container, from the first bytes; None for everything else."""
    if head[4:8] in (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip"):
        return "mov"
    if head[:4] == b"RIFF" and head[8:12] == b"WAVE":
        return "wav"
    if head[:4] == b"OggS" and any(codec in head[:256] for codec in (b"OpusHead", b"vorbis", b"FLAC", b"Speex")):
        return "ogg"
    if head[:3] == b"ID3" or (len(head) > 3 and head[0] == 0xFF and head[1] & 0xE6 == 0xE2 and head[2] & 0xF0 != 0xF0):
        return "mp3"
    return None


def _check(known: SoundOptions) -> None:
    per_turn = known.cylinders * 2.0 / known.strokes if known.strokes in (2, 4) else 0.0
    slowest, fastest = known.slowest_rpm / 60 * per_turn, known.fastest_rpm / 60 * per_turn
    if not (known.cylinders >= 1 and 8.0 <= slowest < fastest <= 600.0):
        raise RecordingError(
            f"{known.cylinders} cylinders, {known.strokes} strokes, {known.slowest_rpm:g} to {known.fastest_rpm:g} rpm "
            f"is {slowest:.0f} to {fastest:.0f} firings a second\n    accepted: 8 to 600, the first below the second\n"
            "    what to do: check cylinders and strokes, or narrow the range of engine speeds"
        )
    if known.metres_per_turn is not None and not 0.001 <= known.metres_per_turn <= 10.0:
        raise RecordingError(
            f"{known.metres_per_turn:g} m of road for one turn of the crank\n    accepted: 0.001 to 10 m\n"
            "    what to do: tyre circumference over the product of all ratios"
        )
