import json
import tomllib
import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.errors import NotebookError
from scribeline.notebook import FileToAttach, entries
from scribeline.notebook.entries import (
    LARGEST_RECORD_BYTES,
    LONGEST_NAME,
    accepted_file,
    accepted_name,
    accepted_text,
    document_of,
    json_of,
    same_name,
    sha256_of,
)


@pytest.mark.parametrize(
    "name", ["kart", "kart 98 (spare)", "Küchenmoped", "50 cc, reed", "シリンダー", "a" * LONGEST_NAME, "x.y"]
)
def test_an_ordinary_name_is_kept_as_it_is(name: str) -> None:
    assert accepted_name(name, "build") == name


def test_space_around_a_name_and_the_way_an_accent_is_typed_do_not_matter() -> None:
    assert accepted_name("  Ku\N{COMBINING DIAERESIS}che\t", "build") == "Küche"


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("", "empty"),
        (" \n", "empty"),
        ("a" * (LONGEST_NAME + 1), "81 characters"),
        ("a/b", "has / in it"),
        ("..\\b", r"has \\ in it"),
        ('"a?"', 'has " . in it'),
        ("..", "dot"),
        (".hidden", "dot"),
        ("kart.", "dot"),
        ("ka\nrt", "cannot be printed"),
        ("ka\trt", "cannot be printed"),
        ("ka\x1b[2Jrt", "cannot be printed"),
        ("ka\0rt", "cannot be printed"),
        ("ka\udcffrt", "cannot be printed"),
    ],
)
def test_a_name_that_cannot_be_a_folder_is_refused(name: str, reason: str) -> None:
    with pytest.raises(NotebookError, match=f"(?s)name of the build is refused.*{reason}.*what to do"):
        accepted_name(name, "build")


@settings(deadline=None)
@given(st.text())
def test_a_name_is_refused_or_safe_as_a_folder_and_unchanged_from_then_on(name: str) -> None:
    try:
        accepted = accepted_name(name, "build")
    except NotebookError:
        return
    assert accepted_name(accepted, "build") == accepted
    assert accepted.encode().decode() == accepted == unicodedata.normalize("NFC", accepted).strip()
    assert not set('/\\:*?"<>|\0\n') & set(accepted)
    assert accepted not in ("", ".", "..")


def test_names_that_a_person_would_confuse_are_the_same() -> None:
    assert same_name("Kart 98", "kart 98")
    assert same_name("STRASSE", "straße")
    assert not same_name("kart 98", "kart 99")


def test_a_note_may_have_lines_and_no_more_than_it_can_hold() -> None:
    assert accepted_text("filed the roof,\n\t0.3 mm ✔", "note") == "filed the roof,\n\t0.3 mm ✔"
    assert accepted_text("", "note") == ""
    for text in ("a\x07", "a\udcff", "x" * 20_001):
        with pytest.raises(NotebookError, match="note is refused"):
            accepted_text(text, "note")
    with pytest.raises(NotebookError, match="author is refused"):
        accepted_text("", "author", at_least=1)


def test_a_hash_is_the_sha_256() -> None:
    """FIPS 180-2, appendix B.1 gives this one for "abc"."""
    assert sha256_of(b"abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_a_record_is_read_as_toml() -> None:
    text = 'name = "x"\n[crank]\nstroke_mm = { value = 50.02, plus_minus = 0.02 }\n'
    assert document_of(text) == tomllib.loads(text)
    assert document_of("") == {}


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("stroke 50", "line 1"),
        ("a = '''" + "x" * LARGEST_RECORD_BYTES + "'''", "at most 4194304 are accepted"),
        ('a = "\\u0000"', r"U\+0000"),
        ('a = [{ b = ["x", "\\u0000"] }]', r"U\+0000"),
        ('"\\u0000" = 1', r"U\+0000"),
        ("a = " + "[" * 5000 + "]" * 5000, "."),
        ("a = " + "9" * 5000, "4300 digits"),
        ("a = '\udcff'", "surrogates"),
    ],
)
def test_text_that_cannot_be_kept_as_a_record_is_refused(text: str, reason: str) -> None:
    with pytest.raises(NotebookError, match=rf"(?s)no TOML text that can be kept: .*{reason}.*kept: nothing"):
        document_of(text)


def test_what_json_does_not_know_becomes_text() -> None:
    text = """
        day = 2026-11-25
        moment = 2026-11-25T10:15:00Z
        o_clock = 10:15:00
        numbers = [1, 2.5, inf, -inf, nan, true]
        table = { inner = 'x\\u0000' }
    """
    expected = {
        "day": "2026-11-25",
        "moment": "2026-11-25T10:15:00+00:00",
        "o_clock": "10:15:00",
        "numbers": [1, 2.5, "inf", "-inf", "nan", True],
        "table": {"inner": "x\\u0000"},
    }
    assert json.loads(json.dumps(json_of(document_of(text)), allow_nan=False)) == expected


def test_a_file_has_a_name_and_a_size_that_can_be_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    assert accepted_file(FileToAttach(" a.jpg ", "image/jpeg", b"abc")) == FileToAttach("a.jpg", "image/jpeg", b"abc")
    monkeypatch.setattr(entries, "LARGEST_FILE_BYTES", 2)
    with pytest.raises(NotebookError, match="has 3 bytes"):
        accepted_file(FileToAttach("a.jpg", "image/jpeg", b"abc"))
    with pytest.raises(NotebookError, match="name of the file is refused"):
        accepted_file(FileToAttach("../a.jpg", "image/jpeg", b""))
    with pytest.raises(NotebookError, match="media type is refused"):
        accepted_file(FileToAttach("a.jpg", "", b""))
