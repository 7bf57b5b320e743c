"""Codes and keys: once, briefly, with few tries; and a QR code that a reader reads."""

import re
import xml.etree.ElementTree as ElementTree

import cv2
import numpy as np
import resvg_py

from scribeline.web import pairing
from scribeline.web.pairing import CODE_LETTERS, LIFE_S, TRIES_PER_CODE, TRIES_PER_DEVICE, OpeningKey, Pairing


class Clock:
    now = 1000.0

    def __call__(self) -> float:
        return self.now


def test_a_code_works_once() -> None:
    door = Pairing()
    code = door.begin().text
    assert door.take(code, "a") is None
    again = door.take(code, "b")
    assert again is not None
    assert "each works once" in again


def test_no_code_works_before_one_is_asked_for_or_after_it_was_taken_back() -> None:
    door = Pairing()
    assert door.take("", "a") is not None
    code = door.begin().text
    door.end()
    assert door.current is None
    assert door.take(code, "a") is not None


def test_a_code_dies_with_its_time() -> None:
    clock = Clock()
    door = Pairing(clock)
    code = door.begin().text
    clock.now += LIFE_S - 1
    assert door.seconds_left == 1
    assert door.current is not None
    clock.now += 1
    assert door.seconds_left == 0
    assert door.take(code, "a") is not None


def test_a_new_code_ends_the_one_before() -> None:
    door = Pairing()
    old, new = door.begin().text, door.begin().text
    assert door.take(old, "a") is not None
    assert door.take(new, "a") is None


def test_a_device_has_few_tries_until_their_time_is_over() -> None:
    clock = Clock()
    door = Pairing(clock)
    door.begin()
    for _ in range(TRIES_PER_DEVICE):
        assert door.take("wrong", "a") is not None
    code = door.begin().text  # a new code gives no new tries
    said = door.take(code, "a")
    assert said is not None
    assert "Too many" in said
    clock.now += LIFE_S + 1
    assert door.take(door.begin().text, "a") is None


def test_a_code_dies_of_wrong_tries_from_many_devices() -> None:
    door = Pairing()
    code = door.begin().text
    for number in range(TRIES_PER_CODE):
        assert door.take("wrong", f"device {number}") is not None
    assert door.take(code, "another") is not None


def test_tries_beyond_a_devices_own_do_not_count_against_the_code() -> None:
    door = Pairing()
    code = door.begin().text
    for _ in range(3 * TRIES_PER_CODE):
        door.take("wrong", "a")
    assert door.take(code, "b") is None


def test_codes_are_without_letters_that_are_taken_for_each_other() -> None:
    codes = {Pairing().begin().text for _ in range(200)}
    assert len(codes) == 200
    assert set("".join(codes)) <= set(CODE_LETTERS)
    assert not set(CODE_LETTERS) & set("0O1ILU")
    assert {len(code) for code in codes} == {8}


def test_a_code_may_be_typed_as_it_comes() -> None:
    door = Pairing()
    code = door.begin().text
    assert door.take(f" {pairing.spoken(code).lower()}\n", "a") is None


def test_odd_text_is_a_wrong_code_and_no_fault() -> None:
    door = Pairing()
    door.begin()
    assert "not the code" in (door.take("ÄÖ\udc80\0", "a") or "")


def test_a_key_works_once() -> None:
    told: list[str] = []
    key = OpeningKey("http://127.0.0.1:8321", told.append)
    first = key.url.partition("key=")[2]
    assert not key.take("")
    assert not key.take("\udc80ä")
    assert key.take(first)
    assert not key.take(first)
    assert told == [key.url]
    assert first not in key.url


def test_a_reader_reads_the_qr_code_in_the_page() -> None:
    url = pairing.pairing_url("http://192.168.7.2:8321", "23456789")
    svg = pairing.qr_svg(url)
    assert url == "http://192.168.7.2:8321/pair?code=23456789"
    assert not re.search(r"<script|\sstyle=|\son\w+=", svg)
    assert "QR code for pairing" in "".join(ElementTree.fromstring(svg).itertext())
    png = bytes(resvg_py.svg_to_bytes(svg_string=svg, width=400))
    picture = cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_GRAYSCALE)
    assert cv2.QRCodeDetector().detectAndDecode(picture)[0] == url


def test_a_reader_reads_the_qr_code_in_the_terminal() -> None:
    """Each character is two pixels, one above the other."""
    url = pairing.pairing_url("http://192.168.7.2:8321", "23456789")
    upper_lower = {" ": (0, 0), "▀": (1, 0), "▄": (0, 1), "█": (1, 1)}
    plain = re.sub(r"\x1b\[[0-9;]*m", "", pairing.qr_terminal(url))
    rows = []
    for line in filter(None, plain.splitlines()):
        pairs = [upper_lower[c] for c in line.replace("\xa0", " ")]
        rows += [[upper for upper, _ in pairs], [lower for _, lower in pairs]]
    width = max(map(len, rows))
    light = np.array([row + [0] * (width - len(row)) for row in rows], np.uint8)
    picture = np.pad(np.kron(light * 255, np.ones((8, 8), np.uint8)), 40, constant_values=255)
    assert cv2.QRCodeDetector().detectAndDecode(picture)[0] == url
