"""Places in a document, against what the same steps do to plain Python tables and lists in place."""

import copy
from typing import Any

import pytest

from scribeline.errors import EditConflict, NotebookError
from scribeline.notebook.places import at, checked, inserts, is_same, normal, put, whole

DOCUMENT: dict[str, Any] = {"record": {"name": "kart", "ports": [{"name": "exhaust"}, {"name": "boost"}]}}


def test_what_is_at_a_place() -> None:
    assert at(DOCUMENT, ["record", "ports", "1", "name"]) == "boost"
    assert at(DOCUMENT, ["record", "ports", "2", "name"]) is None
    assert at(DOCUMENT, ["record", "ports", "first"]) is None
    assert at(DOCUMENT, ["plan", "steps", "0"]) is None
    with pytest.raises(EditConflict, match="it is kart now"):
        at(DOCUMENT, ["record", "name", "short"])


def test_putting_changes_nothing_in_place() -> None:
    before = copy.deepcopy(DOCUMENT)
    changed = put(DOCUMENT, "record.ports.1.name", "boost", "rear")
    assert changed["record"]["ports"] == [{"name": "exhaust"}, {"name": "rear"}]
    assert before == DOCUMENT
    assert changed["record"]["ports"][0] is DOCUMENT["record"]["ports"][0]  # what did not change is shared


def test_a_list_grows_and_shrinks_where_it_is_told_to() -> None:
    grown = put(DOCUMENT, "record.ports.1", None, {"name": "transfer"})
    assert [one["name"] for one in grown["record"]["ports"]] == ["exhaust", "transfer", "boost"]
    assert put(grown, "record.ports.1", {"name": "transfer"}, None) == DOCUMENT
    assert inserts(DOCUMENT, ["record", "ports", "1"], None, {})
    assert not inserts(DOCUMENT, ["record", "ports", "1"], {}, {})
    assert not inserts(DOCUMENT, ["record", "name"], None, "kart")


def test_tables_on_the_way_are_made_together_with_the_value() -> None:
    assert whole(DOCUMENT, ["record", "crank", "stroke_mm"], 50) == ("record.crank", {"stroke_mm": 50})
    assert whole(DOCUMENT, ["plan", "0", "do"], "x") == ("plan", [{"do": "x"}])
    assert whole(DOCUMENT, ["record", "ports", "2", "name"], "x") == ("record.ports.2", {"name": "x"})
    assert whole(DOCUMENT, ["record", "name"], "x") == ("record.name", "x")


@pytest.mark.parametrize("path", ["record.ports.3", "record.ports.3.name", "record.ports.-1", "plan.1", "plan.7.do"])
def test_a_position_that_no_list_has_is_refused(path: str) -> None:
    with pytest.raises(NotebookError, match="no such position in the list"):
        whole(DOCUMENT, path.split("."), "x")


@pytest.mark.parametrize("path", ["", ".", "record.", "a..b", "a\x00b", "a" * 401])
def test_what_is_no_path_is_refused(path: str) -> None:
    with pytest.raises(NotebookError, match="is no place in the work in hand"):
        checked(path)


def test_what_is_the_same() -> None:
    assert is_same({"a": [50, "x"]}, {"a": [50.0, "x"]})
    assert not is_same({"a": 1}, {"a": True})
    assert not is_same({"a": [1]}, {"a": [1, 2]})
    assert not is_same({"a": 1}, {"a": 1, "b": 1})
    assert not is_same(None, 0)


def test_values_are_those_that_json_knows() -> None:
    assert normal({"a": (1, 2.5), "b": None, "c": {"d": None}}) == {"a": [1, 2.5], "c": {}}
    for bad in (float("nan"), float("inf"), [None], {1: 2}, object(), {"a": b"x"}):
        with pytest.raises(NotebookError, match="cannot be put into the work in hand"):
            normal(bad)
