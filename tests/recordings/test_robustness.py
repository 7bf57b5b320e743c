"""Damaged, hostile and random files: every reader answers with a recording or a RecordingError, soon, in little memory.

Valid files are mutated, as nearly valid ones go deepest. What is accepted must keep the promises of its type, which the
types check themselves when they are made.
"""

import resource
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import timedelta
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scribeline.errors import RecordingError
from scribeline.recordings import FORMATS, ReadOptions, SoundOptions, read
from scribeline.recordings.sound.synthetic import Scene, engine_sound, write_sound
from tests.recordings.written import START, fit, gga, gpx, rmc

LONGEST_S = 5.0
MOST_MB = 400.0
SMALL = settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
OPTIONS = ReadOptions(sound=SoundOptions(slowest_rpm=3000.0, fastest_rpm=9000.0))


@cache
def valid(name: str) -> bytes:
    """A small sound file of each kind."""
    if name == "fit":
        return fit([(float(i), 48.1, 11.5, 5.0 + i) for i in range(12)])
    if name == "gpx":
        return gpx([(48.1 + i * 1e-5, 11.5, 510.0) for i in range(12)]).encode()
    if name == "nmea":
        moments = [START + timedelta(seconds=i) for i in range(8)]
        return "\n".join(
            line for m in moments for line in (gga(m, 48.1, 11.5, 500.0), rmc(m, 48.1, 11.5, 5.0))
        ).encode()
    if name == "gates":
        return b"setup;run;from km/h;to km/h;time;+/-\nstock;1;25;50;6,42;0,1\nstock;2;25;50;0:06,5;\n"
    if name == "columns":
        return b"time (s),speed (km/h),rpm,foo\n" + b"".join(
            b"%.2f,%d,%d,x\n" % (i * 0.02, 30 + i, 5000) for i in range(12)
        )
    ending = name.removeprefix("sound")
    with TemporaryDirectory() as folder:
        path = Path(folder) / f"film{ending}"
        write_sound(path, engine_sound(np.array([0.0, 0.6]), np.array([5000.0, 6000.0]), Scene()), kbit_s=64)
        return path.read_bytes()


KINDS = [*(name for name in FORMATS if name != "sound"), "sound.m4a", "sound.mp3", "sound.wav", "sound.ogg"]


@contextmanager
def bounded() -> Iterator[None]:
    """No hang and no memory; processor time, which a busy machine does not stretch."""
    before, began = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, time.process_time()
    yield
    assert time.process_time() - began < LONGEST_S
    assert (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024 < MOST_MB


def survive(data: bytes) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "file"
        path.write_bytes(data)
        with bounded(), suppress(RecordingError):
            read(path, OPTIONS)


@st.composite
def mutated(draw: st.DrawFn, name: str) -> bytes:
    """A valid file with bytes changed, cut out, doubled or inserted, or broken off."""
    data = bytearray(valid(name))
    for _ in range(draw(st.integers(1, 6))):
        at = draw(st.integers(0, max(len(data) - 1, 0)))
        length = draw(st.integers(1, 40))
        kind = draw(st.sampled_from(["change", "remove", "double", "insert", "break off", "huge"]))
        if kind == "change":
            data[at : at + 1] = draw(st.binary(min_size=1, max_size=1))
        elif kind == "remove":
            del data[at : at + length]
        elif kind == "double":
            data[at:at] = data[at : at + length]
        elif kind == "insert":
            data[at:at] = draw(
                st.binary(max_size=length) | st.sampled_from([b"\xff" * 8, b"9" * 30, b"-1e999", b"&a;", b"\0"])
            )
        elif kind == "huge":
            data[at : at + 4] = draw(st.sampled_from([b"\xff\xff\xff\x7f", b"\x7f\xff\xff\xff", b"\0\0\0\x80"]))
        else:
            del data[at:]
    return bytes(data)


@pytest.mark.parametrize("name", KINDS)
@SMALL
@given(data=st.data())
def test_mutated_files(name: str, data: st.DataObject) -> None:
    survive(data.draw(mutated(name)))


@SMALL
@given(st.binary(min_size=1, max_size=2000))
def test_random_bytes(data: bytes) -> None:
    survive(data)


STARTS = [b"<gpx>", b"$GPRMC,", b"time,rpm\n", b"from km/h;to km/h;time\n", b"RIFF\xff\xff\xff\x7fWAVEfmt ", b"OggS",
          b"ID3\x04", b"\0\0\0\x20ftypmp42", b"\x0e\x20\x5c\x08\xff\xff\xff\x7f.FIT", b"\xff\xfb\x90"]  # fmt: skip


@SMALL
@given(st.sampled_from(STARTS), st.binary(max_size=1500))
def test_random_bytes_behind_a_signature(start: bytes, data: bytes) -> None:
    survive(start + data)


@SMALL
@given(st.text(max_size=600))
def test_random_text(text: str) -> None:
    survive(text.encode("utf-8", errors="surrogatepass") or b" ")


NUMBERISH = st.text(st.sampled_from("0123456789.,:;-+eE±/ \t\nNaNinf"), max_size=200)


@SMALL
@given(
    st.sampled_from(["time (s);rpm;speed (km/h)\n", "run;25-50 km/h\n", "setup,from km/h,to km/h,time\n"]), NUMBERISH
)
def test_random_numbers_below_a_header(header: str, text: str) -> None:
    survive((header + text).encode())


@pytest.mark.parametrize(
    "start",
    [b"", b"time (s),rpm\n1,5000\n2,5000\n", b"$GPRMC,1", b"<gpx><trk><name>", b'<gpx a="', b"<gpx><!--", b'"a","b'],
)
def test_a_line_without_an_end(start: bytes) -> None:
    """20 MB in one line are looked at in pieces."""
    survive(start + b"1" * 20_000_000)


def test_an_mp4_whose_table_claims_two_thousand_million_entries(tmp_path: Path) -> None:
    data = bytearray(valid("sound.m4a"))
    for box in (b"stsz", b"stco", b"stts", b"stsc"):
        at = data.find(box)
        assert at > 0
        place = at + (12 if box == b"stsz" else 8)
        data[place : place + 4] = b"\x7f\xff\xff\xff"
        survive(bytes(data))
