"""Files of every format written for tests, from columns that are known: the other way round than the readers."""

import struct
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from functools import reduce
from operator import xor

START = datetime(2026, 5, 14, 13, 5, 0, tzinfo=UTC)


def sentence(body: str) -> str:
    """`GPRMC,...` with its `$` and checksum: the exclusive or of all characters between `$` and `*`."""
    return f"${body}*{reduce(xor, body.encode()):02X}"


def degrees_minutes(value: float, letters: str, width: int) -> str:
    whole, part = divmod(abs(value), 1.0)
    return f"{int(whole):0{width}d}{60 * part:08.5f},{letters[value < 0]}"


def rmc(moment: datetime, latitude_deg: float, longitude_deg: float, speed_kn: float, status: str = "A") -> str:
    place = f"{degrees_minutes(latitude_deg, 'NS', 2)},{degrees_minutes(longitude_deg, 'EW', 3)}"
    clock = f"{moment:%H%M%S}.{moment.microsecond // 10000:02d}"
    return sentence(f"GPRMC,{clock},{status},{place},{speed_kn:.4f},90.0,{moment:%d%m%y},,,A")


def gga(moment: datetime, latitude_deg: float, longitude_deg: float, altitude_m: float) -> str:
    place = f"{degrees_minutes(latitude_deg, 'NS', 2)},{degrees_minutes(longitude_deg, 'EW', 3)}"
    clock = f"{moment:%H%M%S}.{moment.microsecond // 10000:02d}"
    return sentence(f"GPGGA,{clock},{place},1,09,0.9,{altitude_m:.1f},M,46.9,M,,")


def gpx(points: Sequence[tuple[float, float, float]], step_s: float = 1.0, head: str = "") -> str:
    """Points (latitude, longitude, height) one step apart."""
    rows = ""
    for i, (latitude, longitude, height) in enumerate(points):
        moment = (START + timedelta(seconds=i * step_s)).isoformat()
        rows += f'<trkpt lat="{latitude}" lon="{longitude}"><ele>{height}</ele><time>{moment}</time></trkpt>\n'
    return (
        f'<?xml version="1.0"?>\n{head}<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">\n'
        f"<trk><trkseg>\n{rows}</trkseg></trk></gpx>\n"
    )


def _crc(data: bytes) -> int:
    """The check sum at the end of a FIT file: CRC-16 with polynomial 0x8005, reflected (0xA001), from 0."""
    crc = 0
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (0xA001 if crc & 1 else 0)
    return crc


def fit(rows: Sequence[tuple[float, float, float, float]], size_claim: int | None = None) -> bytes:
    """A FIT file of record messages (seconds, latitude, longitude, m/s).

    Global message 20; fields 253 timestamp (seconds since the end of 1989, UTC), 0 and 1 position in semicircles,
    6 speed in mm/s.
    """
    definition = struct.pack("<BBBHB", 0x40, 0, 0, 20, 4) + bytes([253, 4, 0x86, 0, 4, 0x85, 1, 4, 0x85, 6, 2, 0x84])
    epoch = datetime(1989, 12, 31, tzinfo=UTC)
    records = [definition]
    for seconds, latitude_deg, longitude_deg, speed_m_s in rows:
        stamp = int((START - epoch).total_seconds() + seconds)
        semicircles = [round(x * 2**31 / 180) for x in (latitude_deg, longitude_deg)]
        records.append(struct.pack("<BIiiH", 0, stamp, *semicircles, round(1000 * speed_m_s)))
    body = b"".join(records)
    head = struct.pack("<BBHI4s", 14, 0x20, 2140, len(body) if size_claim is None else size_claim, b".FIT")
    head += struct.pack("<H", _crc(head))
    return head + body + struct.pack("<H", _crc(head + body))
