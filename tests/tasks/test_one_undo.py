"""A trial and the work in hand under one undo: by the clock, whatever was done where."""

from pathlib import Path

import pytest

from scribeline.tasks.desk import desk_of, edit, redo, undo
from scribeline.tasks.notebook import keep_record
from scribeline.tasks.one_undo import Kind, next_turn
from scribeline.tasks.trial_rows import type_cells
from scribeline.tasks.trial_undo import redo_in_trial, undo_in_trial
from scribeline.tasks.trials import new_trial, set_trial, show_trial
from tests.examples import path_of


@pytest.fixture
def where(tmp_path: Path) -> str:
    """A kart with a trial: a note and an edit in turns, d1 t1 d2 t2."""
    where = str(tmp_path / "notebook.sqlite")
    keep_record(path_of("club-kart-98"), build="kart", where=where)
    new_trial("day", build="kart", where=where)
    note(where, "d1")
    type_cells("day", [("a", "notes", "t1")], seen=0, author="Kim", where=where)
    note(where, "d2")
    set_trial("day", band="6000 to 9000", where=where)
    return where


def note(where: str, label: str) -> None:
    before = desk_of("kart", where=where).document.get("plan", {}).get("note")
    edit("kart", "plan.note", label, before=before, device="bench", label=label, where=where)


def would(kind: Kind, where: str) -> str | None:
    turn = next_turn(kind, desk_of("kart", where=where), show_trial("day", where=where).state)
    return turn.words if turn is not None else None


def turned(kind: Kind, where: str) -> str | None:
    """Turn it, as the page does."""
    turn = next_turn(kind, desk_of("kart", where=where), show_trial("day", where=where).state)
    if turn is None:
        return None
    if turn.entry is not None:
        (undo_in_trial if kind == "undo" else redo_in_trial)("day", turn.entry.number, where=where)
    else:
        (undo if kind == "undo" else redo)("kart", device="bench", where=where)
    return turn.words


def test_what_was_done_last_is_taken_back_first_and_all_of_it_comes_again(where: str) -> None:
    names = ["band of the day", "d2", "typed t1", "d1"]
    assert [turned("undo", where) for _ in range(5)] == [*names, None]
    assert [turned("redo", where) for _ in range(5)] == [*reversed(names), None]
    assert [turned("undo", where) for _ in range(2)] == names[:2]


def test_what_was_taken_back_last_comes_again_first_also_where_it_was_done_on_another_page(where: str) -> None:
    undo("kart", device="bench", where=where)  # d2, on a page without a trial
    assert would("redo", where) == "d2"
    assert turned("undo", where) == "band of the day"
    assert would("redo", where) == "band of the day"
    assert turned("redo", where) == "band of the day"
    assert would("redo", where) == "d2"


def test_something_new_ends_the_redo_of_its_own_journal_only(where: str) -> None:
    """What the other one could bring again touches nothing of it, so it stays."""
    assert [turned("undo", where) for _ in range(2)] == ["band of the day", "d2"]
    note(where, "d3")
    assert would("redo", where) == "band of the day"
    assert would("undo", where) == "d3"
    type_cells("day", [("b", "notes", "t3")], seen=9, author="Kim", where=where)
    assert would("redo", where) is None


def test_one_of_both_may_be_empty(tmp_path: Path) -> None:
    where = str(tmp_path / "notebook.sqlite")
    keep_record(path_of("club-kart-98"), build="kart", where=where)
    new_trial("day", build="kart", where=where)
    assert (would("undo", where), would("redo", where)) == (None, None)
    note(where, "d1")
    assert (turned("undo", where), would("undo", where), would("redo", where)) == ("d1", None, "d1")
    type_cells("day", [("a", "notes", "t1")], seen=0, author="Kim", where=where)
    assert (would("undo", where), would("redo", where)) == ("typed t1", "d1")
