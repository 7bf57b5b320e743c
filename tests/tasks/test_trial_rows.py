"""Times typed cell by cell: kept as typed, understood as far as they can be, and never overwritten unseen."""

import doctest
from pathlib import Path

import pytest

from scribeline.errors import EditConflict, RecordingError, TrialError
from scribeline.tasks import trial_rows as module
from scribeline.tasks import trials as tasks
from scribeline.tasks.trial_rows import pasted, type_cells
from scribeline.tasks.trial_undo import redo_in_trial, undo_in_trial
from scribeline.tasks.verdicts import compare_shown, setups_in

GATE = "30 to 55 km/h"


@pytest.fixture
def where(tmp_path: Path) -> str:
    place = str(tmp_path / "notebook.sqlite")
    tasks.new_trial("day", author="Kim", where=place)
    return place


def typed(where: str) -> dict[str, dict[str, str]]:
    return {row.key: dict(row.cells) for row in tasks.show_trial("day", where=where).state.typed.rows}


def test_examples_in_the_docstrings() -> None:
    results = doctest.testmod(module)
    assert (results.attempted >= 3, results.failed) == (True, 0)


def test_what_is_typed_becomes_runs_and_stays_as_it_was_typed(where: str) -> None:
    times = {"as bought": ("4,89", "5.18", "5.03 ±0.05"), "cut": ("0:04.76", "4570 ms", "4.6")}
    cells = [
        (f"{setup[:2]}{i}", column, text)
        for setup, texts in times.items()
        for i, one in enumerate(texts)
        for column, text in (("setup", setup), (GATE, one), ("direction", "out" if i % 2 else "back"))
    ]
    type_cells("day", cells, seen=0, author="phone", where=where)
    shown = tasks.show_trial("day", where=where)
    assert [one.seconds for one in shown.state.typed.times] == [4.89, 5.18, 5.03, 4.76, 4.57, 4.6]
    assert [one.plus_minus_s for one in shown.state.typed.times][2] == 0.05
    assert typed(where)["as0"] == {"setup": "as bought", GATE: "4,89", "direction": "back"}
    assert [run.name for run in shown.measured.runs] == [f"typed {i}" for i in range(1, 7)]
    assert setups_in([shown]) == ["as bought", "cut"]
    compared = compare_shown([shown])
    assert compared.comparison.setups == ("as bought", "cut")


def test_what_is_no_time_is_kept_with_the_reason_and_counts_for_nothing(where: str) -> None:
    type_cells("day", [("a", GATE, "quick"), ("b", GATE, "4000"), ("c", "order", "last")], seen=0, where=where)
    table = tasks.show_trial("day", where=where).state.typed
    assert [row.cells for row in table.rows] == [{GATE: "quick"}, {GATE: "4000"}, {"order": "last"}]
    assert "quick" in table.rows[0].problems[GATE]
    assert "accepted: 0.2 to 300 s" in table.rows[1].problems[GATE]
    assert "no place in the day" in table.rows[2].problems["order"]
    assert table.times == ()


def test_the_last_text_of_a_cell_counts_and_an_emptied_row_counts_for_nothing(where: str) -> None:
    first = type_cells("day", [("a", GATE, "4.9")], seen=0, author="phone", where=where)
    assert type_cells("day", [("a", GATE, " 4.9 ")], seen=first, author="phone", where=where) == 0
    type_cells("day", [("a", GATE, "4.8")], seen=first, author="phone", where=where)
    assert typed(where) == {"a": {GATE: "4.8"}}
    type_cells("day", [("a", GATE, "")], seen=9, author="phone", where=where)
    assert tasks.show_trial("day", where=where).state.typed.times == ()
    type_cells("day", [("b", GATE, "4.7")], seen=9, author="phone", where=where)
    assert tasks.show_trial("day", where=where).measured.runs[0].name == "typed 2"  # a name is never given twice


def test_two_devices_are_told_of_each_other_and_nothing_is_overwritten(where: str) -> None:
    seen = type_cells("day", [("a", GATE, "4.9")], seen=0, author="phone", where=where)
    type_cells("day", [("a", GATE, "4.8")], seen=seen, author="tablet", where=where)
    with pytest.raises(EditConflict, match="of row 1 was changed by tablet") as told:
        type_cells("day", [("a", GATE, "4.7")], seen=seen, author="phone", where=where)
    assert (told.value.yours, told.value.theirs) == ("4.7", "4.8")
    assert typed(where) == {"a": {GATE: "4.8"}}
    type_cells("day", [("a", "notes", "wet")], seen=seen, author="phone", where=where)  # another cell: no conflict
    type_cells("day", [("a", GATE, "4.7")], seen=seen, author="phone", insist=True, where=where)
    assert typed(where) == {"a": {GATE: "4.7", "notes": "wet"}}


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        (("a", "colour", "red"), "a gate typed as 'colour'"),
        (("a", "30-55", "4.9"), "a column called 30-55"),
        (("a b", GATE, "4.9"), "letters in one cell"),
        (("a", "notes", "x" * 201), "201 letters"),
    ],
)
def test_cells_that_are_none_are_refused(where: str, cell: tuple[str, str, str], said: str) -> None:
    with pytest.raises(TrialError, match=said):
        type_cells("day", [cell], seen=0, where=where)
    assert typed(where) == {}


def test_a_grid_without_end_is_refused(where: str) -> None:
    with pytest.raises(TrialError, match="more than 2000 rows"):
        type_cells("day", [(f"r{i}", "setup", "a") for i in range(2001)], seen=0, where=where)


COLUMNS = ("setup", "direction", GATE, "order", "notes")


def test_a_paste_lies_where_it_was_laid_or_where_its_headings_say() -> None:
    assert pasted("4,9\t1\r\n4,8\t2\r\n", COLUMNS, GATE, ["a", "b", "c"]) == [
        ("a", GATE, "4,9"), ("a", "order", "1"), ("b", GATE, "4,8"), ("b", "order", "2"),
    ]  # fmt: skip
    headed = pasted("30-55 km/h (s)\tSetup\n4.9\tcut\n", COLUMNS, "setup", ["a"])
    assert headed == [("a", GATE, "4.9"), ("a", "setup", "cut")]
    assert pasted("\n \n", COLUMNS, "setup", ["a"]) == []
    with pytest.raises(RecordingError, match="3 columns were pasted"):
        pasted("1\t2\t3", COLUMNS, "order", ["a"])


def test_undo_and_redo_go_through_everything_that_was_typed(where: str) -> None:
    first = type_cells("day", [("a", GATE, "4.9")], seen=0, author="phone", where=where)
    second = type_cells("day", [("a", GATE, "4.8")], seen=first, author="phone", where=where)
    assert undo_in_trial("day", second, where=where) == "typed 4.8"
    assert typed(where) == {"a": {GATE: "4.9"}}
    assert undo_in_trial("day", first, where=where) == "typed 4.9"
    assert typed(where) == {}
    with pytest.raises(TrialError, match="there is nothing left"):
        undo_in_trial("day", first, where=where)
    with pytest.raises(TrialError, match=r"the last is: typed 4\.9"):
        redo_in_trial("day", second, where=where)
    redo_in_trial("day", first, where=where)
    redo_in_trial("day", second, where=where)
    assert typed(where) == {"a": {GATE: "4.8"}}
    state = tasks.show_trial("day", where=where).state
    assert (state.number, state.redoable) == (6, None)  # nothing was taken out of the journal
    third = type_cells("day", [("a", "notes", "wet")], seen=9, author="phone", where=where)
    undo_in_trial("day", third, where=where)
    type_cells("day", [("a", "notes", "dry")], seen=9, author="phone", where=where)
    assert tasks.show_trial("day", where=where).state.redoable is None  # something else came instead
