"""The gasket and deck solver against a naive search on a grid, against refitted records, and against a Monte Carlo."""

from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.engine import GasketSheet, Measured
from scribeline.errors import PlanError, SearchError
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.plan.box import Box, Sheet
from scribeline.plan.carry_out import carry_out
from scribeline.plan.limit_table import LimitTable, OneLimit
from scribeline.plan.limits import limits
from scribeline.plan.operations.gaskets import at_hand
from scribeline.plan.stacks import (
    PLACES,
    GapRange,
    Squish,
    chance_outside,
    difference_mm,
    range_of,
    solve,
    stack_words,
    usual_range,
)
from scribeline.plan.typed_gaskets import box_of
from tests.examples import KART, edited

OUT = work_out(edited(name=KART), draws=2000)


def boxed(mm: float, count: int = 1, width: float = 0.01) -> tuple[float, int, float]:
    return mm, count, width


def box(base: list[tuple[float, int, float]], head: list[tuple[float, int, float]], both: float | None = None) -> Box:
    sheets = [
        Sheet(name=f"{side} {mm}", fits=side, nominal_mm=Measured(value=mm, plus_minus=width), count=count)  # type: ignore[arg-type]
        for side, pile in (("base", base), ("head", head), ("both", [(both, 1, 0.01)] if both else []))
        for mm, count, width in pile
    ]
    return Box(gaskets=tuple(sheets))


def sheet(mm: float, width: float = 0.01) -> GasketSheet:
    return GasketSheet(nominal_mm=Measured(value=mm, plus_minus=width))


# --- against brute force --------------------------------------------------------------------------------------


def naive(
    out: WorkedOut, one: Box, low: float, high: float, most: float, cut_width: float
) -> dict[tuple[tuple[float, ...], tuple[float, ...]], float]:
    """(base, head) thicknesses -> least cut on a grid of 0.001 mm, by trying every subset of single sheets."""
    record = out.record
    piles = []
    for side in ("base", "head"):
        today = [(sheet, True) for sheet in getattr(record.gaskets, side)]
        fresh = [(kind.sheet(), False) for kind in one.gaskets if kind.fits == side for _ in range(kind.count)]
        pile = today + fresh
        piles.append([subset for size in range(1, len(pile) + 1) for subset in combinations(pile, size)])
    mean, tight = (out.values[name] for name in ("squish_gap_mm", "squish_gap_min_mm"))
    answers: dict[tuple[tuple[float, ...], tuple[float, ...]], float] = {}
    for base, head in product(*piles):
        lift, squares = 0.0, 0.0
        for chosen, side in ((base, "base"), (head, "head")):
            kept = [sheet for sheet, fitted in chosen if fitted]
            for sheet, fitted in chosen:
                thick = (sheet.compressed_mm or sheet.nominal_mm).value
                width = (sheet.compressed_mm or sheet.nominal_mm).plus_minus
                lift += 0.0 if fitted else thick
                squares += 0.0 if fitted else (0.01 if width is None else width) ** 2
            for sheet in getattr(record.gaskets, side):
                if sheet not in kept:
                    lift -= sheet.compressed_mm.value
                    squares += 0.01**2
        for step in range(round(most * 1000) + 1):
            cut = step / 1000.0
            wide = squares + (cut_width**2 if cut else 0.0)
            if mean.value + lift - cut + (mean.plus_minus**2 + wide) ** 0.5 > high + 1e-9:
                continue
            if tight.value + lift - cut - (tight.plus_minus**2 + wide) ** 0.5 >= low - 1e-9:
                key = tuple(
                    tuple(sorted(round((s.compressed_mm or s.nominal_mm).value, 6) for s, _ in side))
                    for side in (base, head)
                )
                answers[key] = min(cut, answers.get(key, 9.0))  # type: ignore[index]
            break
    return answers


@pytest.mark.parametrize(
    ("low", "high", "most"), [(0.5, 1.0, 1.5), (0.6, 0.9, 0.3), (0.5, 0.75, 2.0)], ids=["usual", "little", "narrow"]
)
def test_every_stack_and_its_least_cut_are_those_of_trying_everything(low: float, high: float, most: float) -> None:
    one = box([boxed(0.2, 2), boxed(0.33)], [boxed(0.4, width=0.03), boxed(0.55, 2), boxed(1.1)])
    expected = naive(OUT, one, low, high, most, 0.03)
    found = solve(OUT, one, asked=GapRange(low, high), most_off_mm=most)
    got = {
        tuple(
            tuple(
                sorted(
                    round((s.compressed_mm or s.nominal_mm).value, 6)
                    for s, _ in (at_hand(OUT.record, side, one)[name] for name in getattr(stack, side))
                )
            )
            for side in ("base", "head")
        ): stack.cut_mm
        for stack in found.found
    }
    assert set(got) == set(expected)
    assert len(got) == len(found.found) > 3
    for key, cut in got.items():
        assert -1e-9 <= expected[key] - cut < 0.001 + 1e-9, key  # type: ignore[index]


def test_every_combination_is_tried() -> None:
    """Base: (2+1)(1+1)(fitted 1+1) − none = 11; head: (3+1)(1+1) − none = 7."""
    assert solve(OUT, box([boxed(0.2, 2), boxed(0.33)], [boxed(0.4, 3)])).tried == 11 * 7


def test_a_side_goes_bare_only_where_the_box_says_so() -> None:
    assert solve(OUT, box([boxed(0.2)], [])).tried == 3
    assert solve(OUT, box([boxed(0.2)], []), bare=("base",)).tried == 4


def test_least_metal_first_and_highest_compression_first() -> None:
    found = solve(OUT, box([boxed(0.2, 2), boxed(0.3)], [boxed(0.4), boxed(0.8)]))
    cuts = [round(one.cut_mm, 9) for one in found.found]
    assert cuts == sorted(cuts)
    ratios = [round(one.trapped, 9) for one in found.by_compression]
    assert ratios == sorted(ratios, reverse=True)
    assert set(map(id, found.by_compression)) == set(map(id, found.found))


# --- against the record itself ------------------------------------------------------------------------------------


def test_gap_and_compression_are_those_of_the_refitted_record() -> None:
    at_hand = box([boxed(0.2), boxed(0.3)], [boxed(0.5), boxed(0.8)])
    found = solve(OUT, at_hand).found
    only_foot = solve(OUT, at_hand, places=("deck barrel base",)).found
    for number, stack in enumerate(found[::3]):
        place = PLACES[number % 3]
        after = work_out(carry_out(OUT.record, stack.steps(place, OUT.record), at_hand), draws=0)
        assert after.value("squish_gap_mm") == pytest.approx(stack.mean_mm, abs=1e-6)
        assert after.value("squish_gap_min_mm") == pytest.approx(stack.tightest_mm, abs=1e-6)
        assert after.value("clearance_volume_cc") == pytest.approx(stack.clearance_cc, abs=1e-5)
        assert after.value("compression_ratio_geometric") == pytest.approx(stack.compression, abs=1e-5)
        if place == "deck barrel base":
            (sunk,) = (one for one in only_foot if (one.base, one.head) == (stack.base, stack.head))
            assert after.value("compression_ratio_trapped") == pytest.approx(sunk.trapped, abs=1e-5)
        else:
            assert after.value("compression_ratio_trapped") == pytest.approx(stack.trapped, abs=1e-5)


def test_only_the_foot_and_the_base_gasket_move_the_ports() -> None:
    (stack,) = (one for one in solve(OUT, box([], [])).found if one.cut_mm > 0.0)
    before = OUT.values["exhaust_duration_deg"].value
    assert before is not None
    durations = {
        place: work_out(carry_out(OUT.record, stack.steps(place, OUT.record)), draws=0).value("exhaust_duration_deg")
        for place in PLACES
    }
    assert durations["deck barrel top"] == pytest.approx(before, abs=1e-9)
    assert durations["face head"] == pytest.approx(before, abs=1e-9)
    assert durations["deck barrel base"] < before - 1.0  # type: ignore[operator]


def test_the_range_is_the_limits_own() -> None:
    by_name = {limit.name: limit for limit in limits()}
    asked = solve(OUT, box([], [])).asked
    assert (asked.low_mm, asked.high_mm) == (by_name["squish_gap_min_mm"].low, by_name["squish_gap_mm"].high)


def test_the_range_is_the_builders_own_where_one_is_set() -> None:
    table = LimitTable(set=(OneLimit(name="squish_gap_min_mm", low=0.6), OneLimit(name="squish_gap_mm", off=True)))
    assert range_of(table) == GapRange(0.6, usual_range().high_mm)
    assert range_of(None) == usual_range()


def test_a_sheet_that_stays_adds_nothing_to_the_plus_minus() -> None:
    (old,) = OUT.record.gaskets.base
    extra = sheet(0.2, 0.02)
    assert difference_mm((old, extra), (old,)) == (pytest.approx(0.2), pytest.approx(0.02))
    assert difference_mm((old, old), (old,)) == (pytest.approx(0.46), pytest.approx(0.01))
    assert difference_mm((), (old,)) == (pytest.approx(-0.46), pytest.approx(0.01))


def test_sheets_that_are_used_again_are_said() -> None:
    found = solve(OUT, box([boxed(0.2)], [boxed(0.1)])).found
    again = [one for one in found if "fitted 1" in one.head and len(one.head) == 2]
    assert again
    assert all("fitted 1" in one.reused for one in again)
    as_today = [one for one in found if one.head == one.base == ("fitted 1",)]
    assert [one.reused for one in as_today] == [()]


def test_a_sheet_that_fits_both_sides_is_there_once() -> None:
    """Without the pile of both: 1 x 1 stacks. With it (fitted or not, both or not, not nothing) 3 x 3, less the 4 in
    which it lies on both sides."""
    assert solve(OUT, box([], [], both=0.2)).tried == 9 - 4


# --- the chance -------------------------------------------------------------------------------------------------


@given(
    mean=st.floats(0.55, 1.1), tilt=st.floats(0.0, 0.1), sigma=st.floats(0.005, 0.05), step=st.floats(0.0, 0.05),
    shift=st.floats(-0.1, 0.1),
)  # fmt: skip
@settings(max_examples=25, deadline=None)
def test_the_chance_is_that_of_drawing_everything(
    mean: float, tilt: float, sigma: float, step: float, shift: float
) -> None:
    rng = np.random.default_rng(5)
    means = mean + sigma * rng.standard_normal(4000)
    tights = means - tilt - 0.01 * np.abs(rng.standard_normal(4000))
    now = Squish(mean, mean - tilt, 2 * sigma, 2 * sigma, means, tights)
    got = chance_outside(now, GapRange(0.5, 1.0), shift, 2.0 * step)
    moved = shift + step * np.random.default_rng(6).standard_normal((200, 4000))
    drawn = float(np.mean((tights + moved < 0.5) | (means + moved > 1.0)))
    assert got == pytest.approx(drawn, abs=0.012)


def test_the_chance_of_a_known_normal() -> None:
    """One gap, exactly known today, moved by 0 ± 0.1: outside 0.9 to 1.0 from 0.95 means beyond one sigma, 31.73 %."""
    now = Squish(0.95, 0.95, 0.0, 0.0, np.array([0.95]), np.array([0.95]))
    assert chance_outside(now, GapRange(0.9, 1.0), 0.0, 0.1) == pytest.approx(0.317311, abs=1e-6)


def test_a_stack_in_range_with_its_plus_minus_is_rarely_outside() -> None:
    """One-sided 95 % of two standard deviations: 2.3 %; both bounds at once at most twice that."""
    for stack in solve(OUT, box([boxed(0.2, 2)], [boxed(0.4), boxed(0.55)])).found:
        assert stack.chance_outside < 0.05
        assert stack.mean_mm + stack.mean_plus_minus_mm <= 1.0 + 1e-9
        assert stack.tightest_mm - stack.tightest_plus_minus_mm >= 0.5 - 1e-9


# --- where nothing works -------------------------------------------------------------------------------------------


def test_without_a_tool_the_least_that_would_do_is_said() -> None:
    """Mean 1.4275 ± 0.0247, so 0.4522 over the limit; 0.03 for the cut makes it ± 0.0389 and 0.4664."""
    none = solve(OUT, box([], []), places=())
    assert none.found == ()
    high, cut = none.relaxations
    assert (high.limit, cut.limit) == ("high", "cut")
    assert cut.by_mm == pytest.approx(1.4275 + np.hypot(OUT.values["squish_gap_mm"].plus_minus or 0, 0.03) - 1.0)
    assert "0.47 mm of metal off where 0.00 mm may come off" in none.why_not()


def test_a_range_narrower_than_the_plus_minus_conflicts_with_itself() -> None:
    none = solve(OUT, box([], []), asked=GapRange(0.80, 0.82))
    assert {one.limit for one in none.relaxations} == {"low", "high"}
    for one in none.relaxations:
        wider = (
            GapRange(0.80 - one.by_mm - 1e-9, 0.82) if one.limit == "low" else GapRange(0.80, 0.82 + one.by_mm + 1e-9)
        )
        assert solve(OUT, box([], []), asked=wider).found


@pytest.mark.parametrize("asked", [GapRange(0.8, 0.82), GapRange(2.0, 2.4), GapRange(0.1, 0.2)])
def test_the_relaxation_is_enough_and_no_smaller_one_is(asked: GapRange) -> None:
    one = box([boxed(0.2)], [boxed(0.4)])
    none = solve(OUT, one, asked=asked, most_off_mm=0.5)
    assert not none.found
    assert none.relaxations
    for relaxed in none.relaxations:
        for share, works in ((1.0 + 1e-9, True), (0.999, False)):
            low = asked.low_mm - (relaxed.by_mm * share if relaxed.limit == "low" else 0.0)
            high = asked.high_mm + (relaxed.by_mm * share if relaxed.limit == "high" else 0.0)
            most = 0.5 + (relaxed.by_mm * share if relaxed.limit == "cut" else 0.0)
            assert bool(solve(OUT, one, asked=GapRange(low, high), most_off_mm=most).found) is works, relaxed


def test_too_many_stacks_are_refused() -> None:
    many = box([boxed(0.1 + 0.01 * i, 3) for i in range(6)], [boxed(0.1 + 0.01 * i, 3) for i in range(6)])
    with pytest.raises(SearchError, match=r"the box allows \d+ stacks"):
        solve(OUT, many)


# --- what a builder types ------------------------------------------------------------------------------------------


def test_a_typed_list() -> None:
    typed = box_of("base 0.5x2 0.3, head 0.8 1.0")
    assert [(one.fits, one.nominal_mm.value, one.count) for one in typed.gaskets] == [
        ("base", 0.5, 2), ("base", 0.3, 1), ("head", 0.8, 1), ("head", 1.0, 1),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "typed", ["", "0.5", "base", "base 0,5", "foot 0.5", "base 0.5x", "base 0.5x99", "base 22", "base 0.5 0.5"]
)
def test_a_list_that_cannot_be_read_is_refused_with_what_is_accepted(typed: str) -> None:
    with pytest.raises(SearchError, match="accepted: a file of parts at hand"):
        box_of(typed)


def test_a_file_that_is_not_there_is_refused() -> None:
    with pytest.raises(PlanError, match=r"none\.toml"):
        box_of("none.toml")


def test_words_of_a_stack() -> None:
    assert stack_words(("thin", "thin", "fitted 1")) == "2 x thin + fitted 1"
    assert stack_words(()) == "none"


def test_a_record_without_squish_says_how_to_measure_it() -> None:
    bare = edited(name=KART).model_copy(update={"squish": None})
    bare = bare.model_copy(update={"head": bare.head.model_copy(update={"band_recess_mm": None})})
    with pytest.raises(SearchError, match="squeeze solder"):
        solve(work_out(bare, draws=10), box([], []))
