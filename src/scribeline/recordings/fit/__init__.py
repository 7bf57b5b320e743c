"""Activity files in the FIT protocol. README.md tells what is read."""

import math
from datetime import UTC, datetime
from pathlib import Path

import fitdecode
import numpy as np

from scribeline.errors import RecordingError
from scribeline.recordings.assembling import Counts, assemble
from scribeline.recordings.formats import NO, YES, Answer, ReadOptions, unsupported
from scribeline.recordings.recording import Recording
from scribeline.recordings.text import check_size

NAME = "fit"
WHAT = "a FIT activity file"

LARGEST_FIT = 100_000_000
"""Bytes (judgement: a day at one record a second is about 3 MB)."""
_SEMICIRCLE_DEG = 180.0 / 2**31
_FIELDS = {
    "enhanced_speed": ("speed_m_s", 1.0),
    "speed": ("speed_m_s", 1.0),
    "position_lat": ("latitude_deg", _SEMICIRCLE_DEG),
    "position_long": ("longitude_deg", _SEMICIRCLE_DEG),
    "enhanced_altitude": ("altitude_m", 1.0),
    "altitude": ("altitude_m", 1.0),
    "distance": ("distance_m", 1.0),
    "temperature": ("air_temperature_c", 1.0),
}


def recognise(path: Path, head: bytes) -> Answer:
    """By the signature in its header."""
    if head[8:12] != b".FIT" or head[0] not in (12, 14):
        return NO
    if head[1] >> 4 > 2:
        return unsupported(f"protocol version {head[1] >> 4} is newer than 2, the newest that is read")
    return YES


def read(path: Path, options: ReadOptions) -> Recording:
    """All record messages in order. Damage ends the reading: what came before it is kept and a note says so."""
    check_size(path, LARGEST_FIT)
    counts = Counts()
    names = list(dict.fromkeys(name for name, _ in _FIELDS.values()))
    stamps: list[float] = []
    rows: list[list[float]] = []
    try:
        with fitdecode.FitReader(
            str(path),
            check_crc=fitdecode.CrcCheck.DISABLED,
            error_handling=fitdecode.ErrorHandling.IGNORE,
            keep_raw_chunks=False,
        ) as messages:
            for message in messages:
                if isinstance(message, fitdecode.FitDataMessage) and message.name == "record":
                    stamp, row = _row(message)
                    stamps.append(stamp)
                    rows.append([row.get(name, np.nan) for name in names])
    except Exception as error:
        # The library meets damaged bytes with its own errors, but also with TypeError, struct.error, IndexError and
        # others of Python's own, wherever they happen to lead it.
        counts.add(f"the file is damaged ({type(error).__name__}); the records before that place were kept")
    if not rows:
        because = "".join(f"\n    {note}" for note in counts.notes())
        raise RecordingError(f"{path.name} holds no record messages: it is no activity, or damaged{because}")
    table = np.array(rows)
    columns = {name: table[:, i] for i, name in enumerate(names)}
    return assemble(path.name, NAME, np.array(stamps), columns, counts.notes(), on_a_clock=True)


def _row(message: fitdecode.FitDataMessage) -> tuple[float, dict[str, float]]:
    stamp = float("nan")
    found: dict[str, float] = {}
    for field in message.fields:
        value = field.value
        if field.name == "timestamp" and isinstance(value, datetime):
            stamp = (value if value.tzinfo else value.replace(tzinfo=UTC)).timestamp()
        elif field.name == "fractional_timestamp" and isinstance(value, int | float):
            stamp += float(value)
        elif field.name in _FIELDS and isinstance(value, int | float) and not isinstance(value, bool):
            name, scale = _FIELDS[field.name]
            if math.isfinite(value):
                found.setdefault(name, float(value) * scale)
    return stamp, found
