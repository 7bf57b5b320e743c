"""A ride as each kind of instrument would have recorded it: with its rate, its noise and its file format."""

import struct
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from functools import reduce
from operator import xor
from pathlib import Path

import numpy as np
from geographiclib.geodesic import Geodesic
from numpy.typing import NDArray

from scribeline.recordings.invented.ride import METRES_PER_TURN, ROLL_OUTS, Ride, roll_out
from scribeline.recordings.sound.synthetic import Scene, engine_sound, write_sound

Floats = NDArray[np.float64]

STRAIGHT_FROM = (0.0, 30.0)
"""Latitude and longitude of the straight's beginning; its course is 90 degrees (invented)."""
SATELLITE_M_S, SATELLITE_M = 0.05, 1.5
"""Scatter of a receiver's speed and of its slow wandering in place, one standard deviation (judgement)."""

WHEEL_M_S = 0.05
"""Scatter of a wheel sensor's speed, one standard deviation (judgement)."""


def write_nmea(path: Path, run: Ride, start: datetime, rng: np.random.Generator) -> None:
    """A 10 Hz receiver: RMC and GGA."""
    lines = []
    for t, speed, latitude, longitude in _fixes(run, 0.1, rng):
        moment = start + timedelta(seconds=t)
        clock = f"{moment:%H%M%S}.{moment.microsecond // 10_000:02d}"
        place = f"{_minutes(latitude, 'NS', 2)},{_minutes(longitude, 'EW', 3)}"
        lines.append(_sentence(f"GPGGA,{clock},{place},1,10,0.8,210.0,M,0.0,M,,"))
        lines.append(_sentence(f"GPRMC,{clock},A,{place},{speed * 3600 / 1852:.3f},90.0,{moment:%d%m%y},,,A"))
    path.write_text("\r\n".join(lines) + "\r\n", encoding="ascii", newline="")


def write_gpx(path: Path, run: Ride, start: datetime, rng: np.random.Generator) -> None:
    """A phone's 1 Hz track, places only."""
    points = "".join(
        f'<trkpt lat="{latitude:.7f}" lon="{longitude:.7f}"><ele>210</ele>'
        f"<time>{start + timedelta(seconds=t):%Y-%m-%dT%H:%M:%SZ}</time></trkpt>\n"
        for t, _, latitude, longitude in _fixes(run, 1.0, rng)
    )
    path.write_text(
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1">\n'
        f"<trk><name>invented: {run.setup}, run {run.run}</name><trkseg>\n{points}</trkseg></trk></gpx>\n",
        encoding="utf-8",
    )


def write_fit(path: Path, run: Ride, start: datetime, rng: np.random.Generator) -> None:
    """A sports watch at 1 Hz: place and speed. Record messages are global message 20 of the protocol."""
    fields = bytes([253, 4, 0x86, 0, 4, 0x85, 1, 4, 0x85, 6, 2, 0x84])  # stamp, latitude, longitude, speed in mm/s
    body = struct.pack("<BBBHB", 0x40, 0, 0, 20, 4) + fields
    epoch = datetime(1989, 12, 31, tzinfo=UTC)
    for t, speed, latitude, longitude in _fixes(run, 1.0, rng):
        stamp = round((start - epoch).total_seconds() + t)
        semicircles = [round(x * 2**31 / 180.0) for x in (latitude, longitude)]
        body += struct.pack("<BIiiH", 0, stamp, *semicircles, round(1000.0 * speed))
    head = struct.pack("<BBHI4s", 14, 0x20, 2140, len(body), b".FIT")
    head += struct.pack("<H", _crc16(head))
    path.write_bytes(head + body + struct.pack("<H", _crc16(head + body)))


def write_columns(path: Path, run: Ride, rng: np.random.Generator) -> None:
    """A 50 Hz logger with a wheel sensor, a spark pickup and an accelerometer; semicolons and decimal commas."""
    t = np.arange(0.0, run.time_s[-1], 0.02)
    speed = np.interp(t, run.time_s, run.speed_m_s)
    rpm = np.interp(t, run.time_s, run.rpm) * (1.0 + 0.003 * rng.standard_normal(len(t)))
    pushed = np.gradient(speed, t) / 9.80665 + 0.02 * rng.standard_normal(len(t))
    wheel = np.maximum(0.0, 3.6 * speed + 0.15 * rng.standard_normal(len(t)))
    rows = [f"{a:.2f};{b:.2f};{c:.0f};{d:.3f}" for a, b, c, d in zip(t, wheel, rpm, pushed, strict=True)]
    text = "\n".join(["Time (s);Wheel speed (km/h);RPM;Acc X (g)", *rows]) + "\n"
    path.write_text(text.replace(".", ","), encoding="utf-8")


def write_roll_outs(path: Path, headwind_m_s: float, grade: float, rng: np.random.Generator) -> None:
    """A 5 Hz logger with a wheel sensor: one roll-out after the other, all the same way."""
    _, speeds = roll_out(headwind_m_s, grade)
    whole = np.tile(speeds, ROLL_OUTS)
    t = np.arange(0.0, 0.02 * len(whole), 0.2)
    speed = np.interp(t, 0.02 * np.arange(len(whole)), whole) + WHEEL_M_S * rng.standard_normal(len(t))
    rows = [f"{a:.1f},{3.6 * max(v, 0.0):.2f}" for a, v in zip(t, speed, strict=True)]
    path.write_text("\n".join(["Time (s),Wheel speed (km/h)", *rows]) + "\n", encoding="utf-8")


def write_film(path: Path, run: Ride, seed: int) -> None:
    """The sound of a film from the kart: wind, some voices, whine of the chain, automatic gain; AAC at 96 kbit/s."""
    scene = Scene(
        snr_db=6.0, wind=1.0, speech=0.2, whine=0.2, hiss=0.3, missing_below_hz=120.0, automatic_gain=True, seed=seed
    )
    write_sound(path, engine_sound(run.time_s, run.rpm, scene), kbit_s=96)


def write_gate_times(
    path: Path, runs: Sequence[Ride], gates: Sequence[tuple[int, int]], rng: np.random.Generator
) -> None:
    """Typed by hand from the film of a speedometer, to 1/100 s: each time is off by about 0.05 s."""
    lines = ["setup;run;direction;" + ";".join(f"{low}-{high} km/h" for low, high in gates) + ";notes"]
    for number, run in enumerate(runs):
        times = [f"{run.gate_s(low, high) + 0.05 * rng.standard_normal():.2f}".replace(".", ",") for low, high in gates]
        lines.append(f"{run.setup};{run.run};{run.direction};" + ";".join(times) + (";cold" if number == 0 else ";"))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def _fixes(run: Ride, step_s: float, rng: np.random.Generator) -> list[tuple[float, float, float, float]]:
    """Time, speed, latitude and longitude as a satellite receiver gives them."""
    t = np.arange(0.0, run.time_s[-1], step_s)
    speed = np.maximum(0.0, np.interp(t, run.time_s, run.speed_m_s) + SATELLITE_M_S * rng.standard_normal(len(t)))
    along = np.interp(t, run.time_s, run.distance_m)
    drift = np.cumsum(rng.standard_normal((2, len(t))), axis=1) * SATELLITE_M * np.sqrt(step_s / 60.0)
    fixes = []
    for i in range(len(t)):
        place = Geodesic.WGS84.Direct(*STRAIGHT_FROM, 90.0, along[i] + drift[0, i])
        fixes.append((float(t[i]), float(speed[i]), place["lat2"] + drift[1, i] / 111_000.0, place["lon2"]))
    return fixes


def _minutes(value: float, letters: str, width: int) -> str:
    whole, part = divmod(abs(value), 1.0)
    return f"{int(whole):0{width}d}{60.0 * part:08.5f},{letters[int(value < 0)]}"


def _sentence(body: str) -> str:
    return f"${body}*{reduce(xor, body.encode()):02X}"


def _crc16(data: bytes) -> int:
    """The FIT protocol's check sum: CRC-16, polynomial 0x8005 reflected, beginning at 0."""
    crc = 0
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (0xA001 if crc & 1 else 0)
    return crc


__all__ = [
    "METRES_PER_TURN",
    "write_columns",
    "write_film",
    "write_fit",
    "write_gate_times",
    "write_gpx",
    "write_nmea",
    "write_roll_outs",
]
