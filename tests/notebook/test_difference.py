import copy
import json
import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.notebook import Change, differences
from scribeline.notebook.difference import ABSENT


def changes(before: str, after: str) -> list[tuple[str, Any, Any]]:
    found = differences(tomllib.loads(before), tomllib.loads(after))
    return [(change.path, change.before, change.after) for change in found]


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        ("[a.b]\nc_mm = 1.5", "[a.b]\nc_mm = 1.6", [("a.b.c_mm", 1.5, 1.6)]),
        ("[a]\nb_mm = 50", "[a]\nb_mm = 50.0 # the same", []),
        (
            "a_mm = 50",
            "a_mm = { value = 50.02, plus_minus = 0.02 }",
            [("a_mm", 50, {"value": 50.02, "plus_minus": 0.02})],
        ),
        ("a = { value = 5, with = 'x' }", "a = { value = 5, with = 'y' }", [("a.with", "x", "y")]),
        ("a = 1", "b = 2", [("b", ABSENT, 2), ("a", 1, ABSENT)]),
        ("", "[a.b]\nc = 1\nd = 2", [("a.b.c", ABSENT, 1), ("a.b.d", ABSENT, 2)]),
        ("[a]\nb = 1", "", [("a.b", 1, ABSENT)]),
        ("", "[a]", [("a", ABSENT, {})]),
        ("[a]\nb = 1", "[a]", [("a.b", 1, ABSENT)]),
        ("a = [1, 2]", "a = [1, 3, 4]", [("a.2", 2, 3), ("a.3", ABSENT, 4)]),
        ("a = []", "a = [1]", [("a.1", ABSENT, 1)]),
        ("a = true", "a = 1", [("a", True, 1)]),
        ("a = nan", "a = nan", []),
        ("a = '1'", "a = 1", [("a", "1", 1)]),
        (
            "a = 1979-05-27",
            "a = 1979-05-28",
            [("a", tomllib.loads("x=1979-05-27")["x"], tomllib.loads("x=1979-05-28")["x"])],
        ),
    ],
)
def test_fields(before: str, after: str, expected: list[tuple[str, Any, Any]]) -> None:
    assert changes(before, after) == expected


PORTS = """
[[ports]]
name = "exhaust"
roof_mm = 29
[[ports]]
name = "boost"
roof_mm = 35
"""


def test_elements_with_names_are_told_apart_by_them() -> None:
    more = '[[ports]]\nname = "main"\nroof_mm = 34\n' + PORTS.replace("roof_mm = 29", "roof_mm = 28.5")
    assert changes(PORTS, more) == [
        ("ports.main.name", ABSENT, "main"),
        ("ports.main.roof_mm", ABSENT, 34),
        ("ports.exhaust.roof_mm", 29, 28.5),
    ]


def test_elements_in_another_order_are_told() -> None:
    """The sections of a pipe are the same sections in another order, and another pipe."""
    first, second = PORTS.strip().split("[[ports]]")[1:]
    other = "[[ports]]" + second + "\n[[ports]]" + first
    assert changes(PORTS, other) == [("ports (order)", ["exhaust", "boost"], ["boost", "exhaust"])]


def test_elements_that_share_a_name_are_told_apart_by_their_place() -> None:
    twice = PORTS.replace("boost", "exhaust")
    assert changes(twice, twice.replace("35", "36")) == [("ports.2.roof_mm", 35, 36)]


KEYS = st.sampled_from(["a", "b", "c", "name"])
LEAVES = st.integers(-3, 3) | st.booleans() | st.sampled_from(["x", "y"]) | st.floats(allow_nan=False)
DOCUMENTS = st.dictionaries(
    KEYS,
    st.recursive(LEAVES, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3)),
    max_size=4,
)


def canonical(value: Any) -> str:
    """The value with 1 and 1.0 the same and true and 1 not, as the comparison promises."""

    def plain(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: plain(inner) for key, inner in value.items()}
        if isinstance(value, list):
            return [plain(inner) for inner in value]
        return float(value) if isinstance(value, int) and not isinstance(value, bool) else value

    return json.dumps(plain(value), sort_keys=True).replace("-0.0", "0.0")


@settings(deadline=None)
@given(DOCUMENTS, DOCUMENTS)
def test_there_is_a_difference_where_there_is_one_and_only_there(before: Any, after: Any) -> None:
    found = differences(before, after)
    assert bool(found) == (canonical(before) != canonical(after))
    back = differences(after, before)
    assert {change.path for change in back} == {change.path for change in found}
    assert differences(before, copy.deepcopy(before)) == []


def test_a_field_that_is_not_there_says_so() -> None:
    assert str(Change("a", ABSENT, 1)) == "Change(path='a', before=(not there), after=1)"
