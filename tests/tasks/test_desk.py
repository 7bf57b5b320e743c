"""The work in hand on a build: what a page does with it, against a plain list of documents as the model."""

import copy
import itertools
import threading
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from scribeline.engine import read_record
from scribeline.errors import EditConflict, NotebookError, RecordError
from scribeline.notebook import Notebook, open_notebook
from scribeline.tasks import desk as tasks
from scribeline.tasks.notebook import compare_revisions, keep_record, list_builds, show_build

KART = Path("examples/club-kart-98.toml")


@pytest.fixture
def where(tmp_path: Path) -> Iterator[Notebook]:
    with open_notebook(tmp_path / "engines.sqlite", create=True) as notebook:
        yield notebook


@pytest.fixture
def kart(where: Notebook) -> dict[str, Any]:
    record = tomllib.loads(KART.read_text())
    return tasks.begin_build("kart", record, "spare barrel", where=where).document


def change(where: Notebook, path: str, after: Any, before: Any = None, device: str = "bench") -> tasks.Desk:
    return tasks.edit("kart", path, after, before=before, device=device, label=f"{path} {after}", where=where)


def test_a_new_cylinder_has_nothing_but_its_name(where: Notebook) -> None:
    desk = tasks.begin_build(" first barrel ", where=where)
    assert (desk.build, desk.number, desk.revision_number) == ("first barrel", 1, None)
    assert desk.document == {"record": {"scribeline_record": 1, "name": "first barrel"}}
    with pytest.raises(RecordError, match="stroke_mm"):
        tasks.keep_work("first barrel", author="Kim", where=where)
    assert tasks.desk_of("first barrel", where=where) == desk
    assert show_build("first barrel", where=where).revisions == []
    with pytest.raises(NotebookError, match="no revision yet"):
        compare_revisions("first barrel", where=where)


def test_a_notebook_is_made_for_the_first_cylinder(tmp_path: Path) -> None:
    path = tmp_path / "new.sqlite"
    tasks.begin_build("kart", where=path)
    assert [one.build.name for one in list_builds(where=path)] == ["kart"]


def test_what_is_kept_is_the_record_in_hand(where: Notebook, kart: dict[str, Any]) -> None:
    change(where, "record.crank.stroke_mm.value", 50.5, 50.0)
    kept = tasks.keep_work("kart", "longer", "Kim", where=where)
    assert (kept.revision.number, kept.revision.author, kept.revision.note) == (1, "Kim", "longer")
    assert read_record(kept.revision.record_toml).crank.stroke_mm.value == 50.5
    with pytest.raises(NotebookError, match="says the same as revision 1"):
        tasks.keep_work("kart", author="Kim", where=where)
    desk = tasks.undo("kart", device="bench", where=where)  # past the kept revision
    assert desk.document == kart
    assert desk.revision_number == 1
    second = tasks.keep_work("kart", author="Kim", where=where).revision
    assert (second.number, second.parent_number) == (2, 1)
    assert read_record(second.record_toml) == read_record(KART.read_text())
    assert tasks.redo("kart", device="bench", where=where).document["record"]["crank"]["stroke_mm"]["value"] == 50.5


def test_what_the_command_line_keeps_is_seen_and_can_be_undone(where: Notebook, kart: dict[str, Any]) -> None:
    desk = change(where, "record.note", "mine", kart["record"]["note"])
    keep_record(KART, build="kart", author="Kim", where=where)
    seen = tasks.edits_since("kart", desk.number, where=where)
    assert [(one.path, one.label, one.device) for one in seen] == [("record", "revision 1", "notebook")]
    assert tasks.desk_of("kart", where=where).document == kart
    assert tasks.undo("kart", device="bench", where=where).document["record"]["note"] == "mine"


def test_a_desk_is_a_copy_of_its_own(where: Notebook, kart: dict[str, Any]) -> None:
    desk = tasks.desk_of("kart", where=where)
    desk.document["record"]["ports"].clear()
    assert tasks.desk_of("kart", where=where).document == kart


def test_a_port_is_put_in_between_and_taken_away(where: Notebook, kart: dict[str, Any]) -> None:
    ports = kart["record"]["ports"]
    desk = change(where, "record.ports.1", {"name": "new", "role": "boost", "clock_deg": 180})
    assert [one["name"] for one in desk.document["record"]["ports"]][:3] == ["exhaust", "new", "main transfer"]
    assert change(where, "record.ports.1", None, desk.document["record"]["ports"][1]).document == kart
    desk = change(where, "record.ports.3", None, ports[3])
    assert len(desk.document["record"]["ports"]) == 3
    assert tasks.undo("kart", device="bench", where=where).document == kart


def test_threads_share_one_open_notebook(where: Notebook, kart: dict[str, Any]) -> None:
    """Each adds to its own place, as many devices do; every edit is there, each once, and both see all of them."""
    each, failures = 25, []

    def work(device: str) -> None:
        try:
            for number in range(each):
                change(where, f"notes.{device}", number, number - 1 if number else None, device)
                tasks.desk_of("kart", where=where)
        except Exception as error:
            failures.append(error)

    change(where, "notes.bench", "first")
    threads = [threading.Thread(target=work, args=[f"device {number}"]) for number in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    desk = tasks.desk_of("kart", where=where)
    assert desk.number == 2 + 6 * each
    assert desk.document["notes"] == {"bench": "first"} | {f"device {number}": each - 1 for number in range(6)}
    seen = tasks.edits_since("kart", 2, where=where)
    assert sorted((one.device, one.after) for one in seen) == sorted(
        (f"device {number}", value) for number in range(6) for value in range(each)
    )


class TwoDevices(RuleBasedStateMachine):
    """Edits, undo and redo from two devices, held against a list of whole documents and a place in it."""

    folder: Path

    @initialize()
    def begin(self) -> None:
        path = self.folder / f"{len(list(self.folder.iterdir()))}.sqlite"
        self.open = [open_notebook(path, create=True), open_notebook(path)]
        self.seen = [tasks.begin_build("kart", {"a": [1, 2]}, where=self.open[0])] * 2
        self.history, self.now = [self.seen[0].document], 0

    def teardown(self) -> None:
        for notebook in getattr(self, "open", []):
            notebook.close()

    @rule(
        device=st.integers(0, 1),
        place=st.sampled_from(["a", "b", "c.d", "c.e.0", "a.0", "a.1", "a.2", "name"]),
        after=st.none() | st.integers(0, 3) | st.booleans() | st.lists(st.integers(0, 2), max_size=2),
    )
    def edit(self, device: int, place: str, after: Any) -> None:
        parts = ["record", *place.split(".")]
        before = look(self.seen[device].document, parts)
        model = copy.deepcopy(self.history[self.now])
        there = look(model, parts)
        holder = look(model, parts[:-1])
        inserts = before is None and after is not None and isinstance(holder, list)
        refused: NotebookError | None = None
        try:
            self.seen[device] = tasks.edit(
                "kart", ".".join(parts), after, before=before, device=f"at {device}", label="", where=self.open[device]
            )
        except NotebookError as error:
            refused = error
        if isinstance(refused, EditConflict):
            way = [look(model, parts[:length]) for length in range(1, len(parts))]
            barred = any(one is not None and not isinstance(one, dict | list) for one in way)
            assert barred or (not inserts and not same(there, before) and not same(there, after))
            assert barred or same(refused.theirs, there)
            self.seen[device] = tasks.desk_of("kart", where=self.open[device])
            return
        if refused is not None:
            assert "no such position" in str(refused)
            assert isinstance(holder, list | None)
            return
        if inserts or not same(there, after):
            assert inserts or same(there, before)
            set_in(model, parts, before, after)
            self.history[self.now + 1 :] = [model]
            self.now += 1

    @rule(device=st.integers(0, 1))
    def undo(self, device: int) -> None:
        self.seen[device] = tasks.undo("kart", device=f"device {device}", where=self.open[device])
        self.now = max(self.now - 1, 0)

    @rule(device=st.integers(0, 1))
    def redo(self, device: int) -> None:
        self.seen[device] = tasks.redo("kart", device=f"device {device}", where=self.open[device])
        self.now = min(self.now + 1, len(self.history) - 1)

    @rule(device=st.integers(0, 1))
    def look_again(self, device: int) -> None:
        self.seen[device] = tasks.desk_of("kart", where=self.open[device])

    @precondition(lambda self: hasattr(self, "open"))
    @rule(device=st.integers(0, 1))
    def restart(self, device: int) -> None:
        address = self.open[device].address
        self.open[device].close()
        self.open[device] = open_notebook(address)

    @invariant()
    def the_document_is_the_model(self) -> None:
        if not hasattr(self, "open"):
            return
        for notebook in self.open:
            desk = tasks.desk_of("kart", where=notebook)
            assert same(desk.document, self.history[self.now])
            assert (desk.undoable is None) == (self.now == 0)
            assert (desk.redoable is None) == (self.now == len(self.history) - 1)


def look(value: Any, parts: list[str]) -> Any:
    for part in parts:
        if isinstance(value, dict):
            value = value.get(part)
        elif isinstance(value, list):
            value = value[int(part)] if part.isdigit() and int(part) < len(value) else None
        else:
            return None
    return value


def set_in(value: Any, parts: list[str], before: Any, after: Any) -> None:
    """The same in place, on plain tables and lists."""
    for part, following in itertools.pairwise(parts):
        made = [] if following == "0" else {}
        value = value.setdefault(part, made) if isinstance(value, dict) else value[int(part)]
    last = parts[-1]
    if isinstance(value, list):
        if after is None:
            value.pop(int(last))
        elif before is None:
            value.insert(int(last), after)
        else:
            value[int(last)] = after
    elif after is None:
        value.pop(last)
    else:
        value[last] = after


def same(one: Any, other: Any) -> bool:
    """Equal as JSON has it: true is not 1."""
    return repr(sort(one)) == repr(sort(other))


def sort(value: Any) -> Any:
    if isinstance(value, dict):
        return sorted((key, sort(inner)) for key, inner in value.items())
    return [sort(inner) for inner in value] if isinstance(value, list) else value


def test_two_devices_edit_undo_and_redo(tmp_path: Path) -> None:
    TwoDevices.folder = tmp_path
    run_state_machine_as_test(
        TwoDevices,
        settings=settings(
            max_examples=25, stateful_step_count=25, deadline=None, suppress_health_check=list(HealthCheck)
        ),
    )  # fmt: skip
