"""An archive that is damaged, incomplete, tampered with or made to do harm is refused, and nothing is written."""

import random
import shutil
import struct
import tempfile
import warnings
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.errors import NotebookError
from scribeline.notebook import archive as archive_module
from scribeline.notebook import export, open_archive, open_notebook, restore
from scribeline.notebook.entries import sha256_of
from tests.notebook.archives import entries_of, fill, index_of, pack, with_index


@pytest.fixture(scope="module")
def sound(empty_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sound")
    with open_notebook(shutil.copy(empty_file, folder / "notebook.sqlite")) as notebook:
        fill(notebook)
        export(notebook, folder / "sound.zip")
    return folder / "sound.zip"


@pytest.fixture(scope="module")
def entries(sound: Path) -> dict[str, bytes]:
    return entries_of(sound)


def refusal_of(path: Path) -> str:
    with pytest.raises(NotebookError) as refused, open_archive(path):
        pytest.fail("the archive was accepted")
    text = str(refused.value)
    assert text.startswith(f"The archive {path} is refused: ")
    assert "kept: nothing of it" in text
    assert "what to do: " in text
    return text


def test_a_sound_archive_is_accepted_however_it_was_packed(entries: dict[str, bytes], tmp_path: Path) -> None:
    """Somebody may unpack an export, look at it, and pack it again with another program in another order."""
    again = pack(tmp_path / "again.zip", dict(reversed(entries.items())), zipfile.ZIP_DEFLATED)
    with open_archive(again) as archive:
        assert [build.name for build in archive.index.builds] == ["Küchenmoped", "kart"]


def test_no_archive(tmp_path: Path) -> None:
    assert "there is no such file" in refusal_of(tmp_path / "none.zip")
    assert "Is a directory" in refusal_of(tmp_path)
    (tmp_path / "text.zip").write_bytes(b"not a zip at all")
    assert "not a zip file" in refusal_of(tmp_path / "text.zip")
    (tmp_path / "empty.zip").touch()
    refusal_of(tmp_path / "empty.zip")


@pytest.mark.parametrize("kept_bytes", [10, 500, 3000, -1, -30])
def test_an_archive_cut_short(sound: Path, tmp_path: Path, kept_bytes: int) -> None:
    path = tmp_path / "short.zip"
    path.write_bytes(sound.read_bytes()[:kept_bytes])
    refusal_of(path)


def test_every_entry_is_needed(entries: dict[str, bytes], tmp_path: Path) -> None:
    for missing in entries:
        path = pack(tmp_path / "x.zip", {name: data for name, data in entries.items() if name != missing})
        assert f"{missing} is missing" in refusal_of(path)


def test_every_record_and_file_is_proved_against_its_hash(entries: dict[str, bytes], tmp_path: Path) -> None:
    for name in entries.keys() - {"notebook.json"}:
        reason = refusal_of(pack(tmp_path / "x.zip", entries | {name: entries[name] + b"#"}))
        assert f"{name} is not what was exported" in reason


@pytest.mark.parametrize(
    "name",
    [
        "../evil.toml",
        "builds/../../evil.toml",
        "/etc/evil.toml",
        "C:\\evil.toml",
        "builds/kart/0003.toml",
        "files/" + "0" * 64,
        "readme.txt",
        "builds/",
        "builds/kart/0001.TOML",
    ],
)
def test_no_entry_is_there_that_does_not_belong(entries: dict[str, bytes], tmp_path: Path, name: str) -> None:
    assert "does not belong into it" in refusal_of(pack(tmp_path / "x.zip", entries | {name: b"x"}))
    assert sorted(found.name for found in tmp_path.iterdir()) == ["x.zip"]


def test_no_entry_is_there_twice(entries: dict[str, bytes], tmp_path: Path) -> None:
    for twice in ("notebook.json", "builds/kart/0001.toml"):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            path = pack(tmp_path / "x.zip", [*entries.items(), (twice, b"another")])
        refusal_of(path)


def test_an_entry_may_not_unpack_to_far_more_than_it_is(entries: dict[str, bytes], tmp_path: Path) -> None:
    bomb = pack(tmp_path / "x.zip", entries | {"builds/kart/0001.toml": bytes(40_000_000)}, zipfile.ZIP_DEFLATED)
    assert bomb.stat().st_size < 100_000
    assert "says it unpacks to 40" in refusal_of(bomb)


def patched_size(sound: Path, name: bytes, size: int) -> bytes:
    """The archive with another unpacked size in the central directory entry of `name`."""
    data = bytearray(sound.read_bytes())
    entry = data.rindex(b"PK\x01\x02", 0, data.rindex(name))
    data[entry + 24 : entry + 28] = struct.pack("<I", size)
    return bytes(data)


@pytest.mark.parametrize("size", [0, 1, 15_000_000, 0xFFFFFFFE])
def test_an_entry_that_lies_about_its_size(sound: Path, tmp_path: Path, size: int) -> None:
    for name in (b"notebook.json", b"builds/kart/0001.toml"):
        path = tmp_path / "x.zip"
        path.write_bytes(patched_size(sound, name, size))
        refusal_of(path)


def test_entries_have_limits_of_their_own(sound: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for limit in ("LARGEST_RECORD_BYTES", "LARGEST_FILE_BYTES", "LARGEST_INDEX_BYTES"):
        with monkeypatch.context() as patched:
            patched.setattr(archive_module, limit, 10)
            assert "at most 10 are accepted" in refusal_of(sound)


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_only_ordinary_packing_is_accepted(entries: dict[str, bytes], tmp_path: Path, method: int) -> None:
    assert "packed in a way" in refusal_of(pack(tmp_path / "x.zip", entries, method))


def test_an_encrypted_entry(sound: Path, tmp_path: Path) -> None:
    data = bytearray(sound.read_bytes())
    place = 0
    while (place := data.find(b"PK\x01\x02", place)) >= 0:
        data[place + 8] |= 1
        place += 4
    (tmp_path / "x.zip").write_bytes(data)
    assert "encrypted" in refusal_of(tmp_path / "x.zip")


def kart(index: Any) -> Any:
    return index["builds"][1]


CONTRADICTIONS: list[tuple[str, Callable[[Any], Any], str]] = [
    ("format", lambda i: i.update(format="other"), "format: Input should be 'scribeline notebook'"),
    ("version", lambda i: i.update(format_version=9), "format_version: Input should be 1, 2, 3, 4 or 5"),
    ("version of trials", lambda i: i.update(format_version=2), "version 2 trials too"),
    ("unknown key", lambda i: i.update(more=1), "more: Extra inputs are not permitted"),
    ("no builds", lambda i: i.pop("builds"), "builds: Field required"),
    ("name out of the folder", lambda i: kart(i).update(name="../kart"), "has / in it"),
    ("name with space", lambda i: kart(i).update(name=" kart"), "not written as the notebook writes it"),
    ("name is a number", lambda i: kart(i).update(name=5), "valid string"),
    ("two names alike", lambda i: kart(i).update(name="KÜCHENMOPED"), "two build names are the same"),
    ("two builds alike", lambda i: kart(i).update(id=i["builds"][0]["id"]), "two builds are the same"),
    ("no identity", lambda i: kart(i).update(id="1"), "match pattern"),
    ("identity with a line", lambda i: kart(i).update(id=kart(i)["id"] + "\n"), "match pattern"),
    ("local time", lambda i: kart(i).update(created_at="2026-11-25T10:15:00"), "created_at"),
    ("no such day", lambda i: kart(i).update(created_at="2026-02-30T10:15:00.000000Z"), "created_at"),
    ("note", lambda i: kart(i).update(note="\x1b"), "note"),
    ("no revisions", lambda i: kart(i).update(revisions=[], attachments=[]), "neither a revision nor work in hand"),
    ("gap", lambda i: kart(i)["revisions"][1].update(number=3), "not numbered 1, 2, 3"),
    ("number 0", lambda i: kart(i)["revisions"][0].update(number=0), "greater than or equal to 1"),
    ("huge number", lambda i: kart(i)["revisions"][0].update(number=2**40), "less than 2147483648"),
    ("number true", lambda i: kart(i)["revisions"][0].update(number=True), "valid integer"),
    ("own parent", lambda i: kart(i)["revisions"][1].update(parent_number=2), "older than its parent"),
    ("order", lambda i: kart(i)["revisions"].reverse(), "not numbered 1, 2, 3"),
    (
        "two revisions alike",
        lambda i: kart(i)["revisions"][1].update(id=kart(i)["revisions"][0]["id"]),
        "two revisions",
    ),
    ("no author", lambda i: kart(i)["revisions"][0].update(author=""), "at least 1 character"),
    ("hash", lambda i: kart(i)["revisions"][0].update(record_sha256="0" * 64), "not what was exported"),
    ("short hash", lambda i: kart(i)["revisions"][0].update(record_sha256="0"), "match pattern"),
    (
        "file of no revision",
        lambda i: kart(i)["attachments"][0].update(revision_number=9),
        "revision 9, which is missing",
    ),
    ("file path", lambda i: kart(i)["attachments"][0].update(sha256="../" + "0" * 61), "match pattern"),
    ("file name", lambda i: kart(i)["attachments"][0].update(name="../x"), "has / in it"),
    ("file size", lambda i: kart(i)["attachments"][1].update(size_bytes=1), "not as many as"),
    ("two sizes", lambda i: kart(i)["attachments"][0].update(size_bytes=1), "one content has two sizes"),
    ("negative size", lambda i: kart(i)["attachments"][1].update(size_bytes=-1), "greater than or equal to 0"),
    ("media type", lambda i: kart(i)["attachments"][0].update(media_type=""), "at least 1 character"),
]


@pytest.mark.parametrize(
    ("change", "reason"), [case[1:] for case in CONTRADICTIONS], ids=[c[0] for c in CONTRADICTIONS]
)
def test_an_index_that_cannot_be_true(
    entries: dict[str, bytes], tmp_path: Path, change: Callable[[Any], Any], reason: str
) -> None:
    index = index_of(entries)
    change(index)
    assert reason in refusal_of(pack(tmp_path / "x.zip", with_index(entries, index)))


@pytest.mark.parametrize("text", [b"", b"{", b"[]", b"\xff", b"null", b"[" * 100_000])
def test_an_index_that_is_none(entries: dict[str, bytes], tmp_path: Path, text: bytes) -> None:
    refusal_of(pack(tmp_path / "x.zip", entries | {"notebook.json": text}))


def test_a_record_that_is_no_toml(entries: dict[str, bytes], tmp_path: Path) -> None:
    index, text = index_of(entries), b"stroke 50"
    kart(index)["revisions"][0]["record_sha256"] = sha256_of(text)
    changed = with_index(entries, index) | {"builds/kart/0001.toml": text}
    with (
        pytest.raises(NotebookError, match="no TOML text"),
        open_archive(pack(tmp_path / "x.zip", changed)),
    ):
        pytest.fail("the archive was accepted")


@settings(deadline=None)
@given(st.data())
def test_damage_at_any_place_is_refused_or_changes_nothing(sound: Path, empty_file: Path, data: st.DataObject) -> None:
    """Some bytes of a zip mean nothing (its dates, for one). All others are noticed."""
    good = sound.read_bytes()
    bad = bytearray(good)
    for _ in range(data.draw(st.integers(1, 3))):
        bad[data.draw(st.integers(0, len(good) - 1))] ^= data.draw(st.integers(1, 255))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "bad.zip").write_bytes(bad)
        try:
            with (
                open_archive(folder / "bad.zip") as archive,
                open_notebook(shutil.copy(empty_file, folder / "x.sqlite")) as notebook,
            ):
                restore(archive, notebook)
                export(notebook, folder / "again.zip")
        except NotebookError:
            return
        assert (folder / "again.zip").read_bytes() == good


def test_noise_is_refused(tmp_path: Path) -> None:
    for seed in range(50):
        (tmp_path / "x.zip").write_bytes(b"PK\x03\x04" + random.Random(seed).randbytes(400) + b"PK\x05\x06" + bytes(18))
        refusal_of(tmp_path / "x.zip")
