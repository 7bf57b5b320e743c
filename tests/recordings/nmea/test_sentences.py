"""Sentences that are read without the library say what the library says of them, whatever happens to them."""

import doctest
from contextlib import suppress
from unittest import mock

import pynmea2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribeline.recordings.nmea import sentences
from scribeline.recordings.nmea.sentences import Said, by_library, said_by
from tests.recordings.written import sentence

REFUSALS = (pynmea2.ParseError, ValueError, TypeError, AttributeError, IndexError, KeyError, OverflowError)


def test_examples_in_the_docstrings() -> None:
    results = doctest.testmod(sentences)
    assert (results.attempted, results.failed) == (1, 0)


def number(most: int, places: int) -> st.SearchStrategy[str]:
    return st.integers(0, most * 10**places).map(lambda n: f"{n / 10**places:.{places}f}")


CLOCK = st.builds(
    "{:02d}{:02d}{:02d}{}".format,
    st.integers(0, 24), st.integers(0, 60), st.integers(0, 60), st.sampled_from(["", ".0", ".02", ".57", ".999", "."]),
)  # fmt: skip
PLACE = st.builds(
    "{:02d}{:02d}.{:05d},{},{:03d}{:02d}.{:03d},{}".format,
    st.integers(0, 91), st.integers(0, 60), st.integers(0, 99999), st.sampled_from("NS"),
    st.integers(0, 181), st.integers(0, 60), st.integers(0, 999), st.sampled_from("EW"),
)  # fmt: skip
DAY = st.builds("{:02d}{:02d}{:02d}".format, st.integers(0, 32), st.integers(0, 13), st.integers(0, 99))
RMC = st.builds(
    "{}RMC,{},{},{},{},{},{},{}".format,
    st.sampled_from(["GP", "GN", "gp"]), CLOCK, st.sampled_from("AAAV"), PLACE, number(99, 2) | st.just(""),
    number(360, 1) | st.just(""), DAY, st.sampled_from(["", ",,A", "3.1,E", ",,A,V"]),
)  # fmt: skip
GGA = st.builds(
    "{}GGA,{},{},{},{},{},{},M,46.9,M,,".format,
    st.sampled_from(["GP", "GN", "GL"]), CLOCK, PLACE, st.sampled_from("0123"), st.sampled_from(["", "4", "12"]),
    number(20, 1) | st.just(""), number(900, 1) | st.just("-12.5") | st.just(""),
)  # fmt: skip


def outcome(text: str) -> Said | None:
    with suppress(*REFUSALS):
        return said_by(text)
    return None


def theirs(text: str) -> Said | None:
    with suppress(*REFUSALS):
        return by_library(text)
    return None


def alike(text: str) -> None:
    ours, library = outcome(text), theirs(text)
    if ours is None or library is None:
        assert ours == library
        return
    assert (ours.kind, ours.day, ours.fix) == (library.kind, library.day, library.fix)
    assert ours.second == pytest.approx(library.second, abs=2e-6)  # the library cuts off behind the microsecond
    assert ours.values == pytest.approx(library.values, rel=1e-12)


@given(RMC | GGA)
def test_whole_sentences(body: str) -> None:
    alike(sentence(body))


@given(RMC | GGA, st.integers(0, 90), st.text(st.characters(max_codepoint=0x17F), max_size=3))
def test_damaged_sentences(body: str, at: int, other: str) -> None:
    """With the old checksum, and with one that fits the damage as far as that can be."""
    text = sentence(body)
    alike(text[:at] + other + text[at + 1 :])
    alike(sentence(body[:at] + other.encode("ascii", "ignore").decode() + body[at + 1 :]))


def test_usual_sentences_need_no_library() -> None:
    """Or else the tests above compare the library with itself."""
    with mock.patch.object(sentences, "by_library", side_effect=AssertionError):
        said_by(sentence("GPRMC,130500.02,A,4806.0,S,01130.00000,W,20.5,90.0,140526,,,A"))
        said_by(sentence("GNGGA,130500,4806.00000,N,01130.00000,E,1,09,0.9,-10.5,M,46.9,M,,"))
