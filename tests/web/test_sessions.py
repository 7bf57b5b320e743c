"""Who was let in is remembered without the means to come in."""

import hashlib
import json
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from scribeline.errors import NotebookError
from scribeline.web.sessions import LONGEST_UNUSED, Sessions, plain_name


class Clock:
    def __init__(self) -> None:
        self.now = datetime(2026, 5, 1, 12, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "devices.json"


def test_a_device_is_known_by_its_token_over_a_restart(file: Path) -> None:
    device, token = Sessions(file).admit("phone", "phone")
    assert Sessions(file).device_of(token) == device
    for wrong in ("", token[:-1], token + "x", device.id, device.token_sha256, "\udc80"):
        assert Sessions(file).device_of(wrong) is None


def test_the_file_holds_no_token_and_is_for_its_owner_alone(file: Path) -> None:
    _, token = Sessions(file).admit("phone", "phone")
    assert token not in file.read_text()
    assert hashlib.sha256(token.encode()).hexdigest() in file.read_text()
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert [path.name for path in file.parent.iterdir()] == [file.name]


def test_tokens_are_long_and_never_the_same(file: Path) -> None:
    tokens = {Sessions(file).admit("x", "phone")[1] for _ in range(20)}
    assert len(tokens) == 20
    assert min(map(len, tokens)) >= 43  # 256 bits in base64


def test_who_is_shut_out_stays_out_and_listeners_are_told(file: Path) -> None:
    sessions, told = Sessions(file), []
    sessions.on_revoked(told.append)
    (one, its_token), (other, other_token) = sessions.admit("one", "phone"), sessions.admit("other", "phone")
    sessions.revoke(one.id)
    sessions.revoke("never there")
    assert told == [one.id, "never there"]
    for seen in (sessions, Sessions(file)):
        assert seen.device_of(its_token) is None
        assert seen.device_of(other_token) == other


def test_who_stays_away_too_long_is_out(file: Path) -> None:
    clock = Clock()
    sessions = Sessions(file, clock)
    _, token = sessions.admit("phone", "phone")
    clock.now += LONGEST_UNUSED - timedelta(days=1)
    seen = sessions.device_of(token)
    assert seen is not None
    assert datetime.fromisoformat(seen.seen_at) == clock.now
    clock.now += LONGEST_UNUSED - timedelta(days=1)
    assert Sessions(file, clock).device_of(token) is not None
    clock.now += LONGEST_UNUSED + timedelta(seconds=1)
    assert sessions.device_of(token) is None
    assert Sessions(file).devices() == []


def test_devices_are_told_apart_by_name(file: Path) -> None:
    sessions = Sessions(file)
    assert [sessions.admit("phone", "phone")[0].name for _ in range(3)] == ["phone", "phone 2", "phone 3"]


def test_looking_in_often_does_not_write_each_time(file: Path) -> None:
    clock = Clock()
    sessions = Sessions(file, clock)
    _, token = sessions.admit("phone", "phone")
    before = file.stat().st_mtime_ns
    clock.now += timedelta(minutes=9)
    assert sessions.device_of(token) is not None
    assert file.stat().st_mtime_ns == before


def test_a_device_is_renamed(file: Path) -> None:
    sessions = Sessions(file)
    device, token = sessions.admit("phone", "phone")
    sessions.rename(device.id, "tablet\n")
    sessions.rename("never there", "x")
    assert [one.name for one in Sessions(file).devices()] == ["tablet"]
    assert sessions.device_of(token) is not None


@pytest.mark.parametrize(("name", "kept"), [("", "without a name"), ("a\nb\0c", "a b c"), ("x" * 99, "x" * 40)])
def test_names_are_plain(name: str, kept: str) -> None:
    assert plain_name(name) == kept


@pytest.mark.parametrize("text", ["{", "[]", '{"devices": [{"id": "x"}]}', '{"devices": 3}'])
def test_a_damaged_file_lets_nobody_in_and_says_so(file: Path, text: str) -> None:
    file.write_text(text)
    with pytest.raises(NotebookError, match=r"what to do: move that file away"):
        Sessions(file)
    assert file.read_text() == text


def test_a_disk_that_refuses_is_told_and_shuts_out_all_the_same(tmp_path: Path) -> None:
    folder = tmp_path / "beside the notebook"
    folder.mkdir()
    sessions = Sessions(folder / "devices.json")
    device, token = sessions.admit("phone", "phone")
    folder.rename(tmp_path / "moved away")
    folder.write_text("")  # root may write into any folder, but nobody into a file as if it were one
    with pytest.raises(NotebookError, match="cannot be written"):
        sessions.revoke(device.id)
    assert sessions.device_of(token) is None


def test_a_folder_that_cannot_be_is_told(tmp_path: Path) -> None:
    sessions = Sessions(tmp_path / "later a file" / "devices.json")
    (tmp_path / "later a file").write_text("")
    with pytest.raises(NotebookError, match="cannot be written"):
        sessions.admit("phone", "phone")
    assert sessions.devices() == []


def test_what_is_kept_reads_as_what_it_is(file: Path) -> None:
    Sessions(file).admit("phone", "phone")
    (entry,) = json.loads(file.read_text())["devices"]
    assert set(entry) == {"id", "name", "kind", "token_sha256", "paired_at", "seen_at"}
