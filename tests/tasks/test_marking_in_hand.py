"""What stands under "marking" in the work in hand: what can be read is read, the rest is said."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribeline.tasks.bench_marks import begun, marks_of, strays
from scribeline.tasks.marking_in_hand import marking_and_faults, marking_of
from scribeline.tasks.printer_check import printer_check
from scribeline.tasks.sheet_order import chosen_sheets, paper_in
from tests.tasks.test_bench import document, kart

STEP = "1-swap-head-gasket-thin-copper"
GOOD: dict[str, Any] = {
    "paper": "A3",
    "thickness": "0,12",
    "windows": True,
    "turns": "anticlockwise",
    "sheets": ["bore-wrap"],
    "bars": {"across": "99.6 mm"},
    "printed": [{"at": "2026-11-26", "pages": 3, "paper": "A4", "revision": "a", "printer": "none", "sheets": ["x"]}],
    "bench": {
        "steps": {
            STEP: {"done_at": "2026-11-26T11:00:00+00:00", "at_end": {"squish/0": {"value": 1.2, "typed": "1.2"}}}
        },
        "behind": [{"taken_at": "x", "done": ["y"], "steps": {}}],
    },
}


def test_what_the_page_keeps_comes_through_as_it_is() -> None:
    assert marking_and_faults({"marking": GOOD}) == (GOOD, ())
    assert marking_and_faults({}) == ({}, ())


@pytest.mark.parametrize(
    ("marking", "left", "said"),
    [
        ("oops", {}, "marking: oops stands there, a table is meant."),
        ({"paper": "A3", "bench": []}, {"paper": "A3"}, "marking.bench: [] stands there, a table is meant."),
        ({"bench": {"steps": {STEP: 3}}}, {"bench": {"steps": {}}}, f"marking.bench.steps.{STEP}: 3 stands there"),
        ({"sheets": "bore-wrap"}, {}, "marking.sheets: bore-wrap stands there, a list is meant."),
        ({"windows": "yes"}, {}, "marking.windows: yes stands there, yes or no is meant."),
        ({"printed": [{"at": "now"}]}, {"printed": []}, "marking.printed.0: pages, paper, revision, printer, sheets"),
        ({"thickness": 0.12}, {"thickness": "0.12"}, ""),
        ({"of another day": {"x": 1}}, {"of another day": {"x": 1}}, ""),
    ],
)
def test_what_is_of_another_kind_is_left_out_and_said(marking: Any, left: Any, said: str) -> None:
    found, faults = marking_and_faults({"marking": marking})
    assert found == left
    assert "\n".join(faults).startswith(said)
    assert len(faults) == (1 if said else 0)


def test_a_number_without_its_words_is_said_and_the_step_stays_ticked() -> None:
    found_there = {"gap/0": {"value": "1.2"}, "a": {"value": 1}}
    marking = {"bench": {"steps": {STEP: {"done_at": "x", "at_end": found_there}}}}
    found, faults = marking_and_faults({"marking": marking})
    assert found["bench"]["steps"][STEP] == {"done_at": "x", "at_end": {}}
    assert faults == (
        f"marking.bench.steps.{STEP}.at_end.gap/0.value: 1.2 stands there, a number is meant.",
        f"marking.bench.steps.{STEP}.at_end.a: typed is missing there.",
    )


def test_not_every_one_of_many_faults_is_said() -> None:
    _, faults = marking_and_faults({"marking": {"sheets": [1.5j] * 20}})
    assert (len(faults), faults[-1]) == (9, "And 12 more.")


JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-9, 9) | st.text(max_size=3),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from([*GOOD, *GOOD["bench"], STEP, "a"]), inner)
    ),
    max_leaves=12,
)


@given(JSON | st.fixed_dictionaries({}, optional=dict.fromkeys(GOOD, JSON)))
def test_whatever_stands_there_nothing_that_reads_it_breaks(marking: Any) -> None:
    work = document() | {"marking": marking}
    begun(work)
    marks_of(work, kart())
    strays(work, kart())
    paper_in(work)
    chosen_sheets(work)
    printer_check(marking_of(work))
