"""Verdicts: which comparison the runs allow, what it says, and that it holds over thousands of synthetic days."""

import doctest

import numpy as np
import pytest
from scipy import stats

from scribeline.errors import TrialError
from scribeline.trials import runs as runs_module
from scribeline.trials import wording
from scribeline.trials.runs import Measure, Run, Value, dropped
from scribeline.trials.verdict import Comparison, Verdict, compare
from scribeline.trials.wording import exact_words, sentence, slope_words

GATE = Measure("30 to 55 km/h", "s", "less", 25.0)


@pytest.mark.parametrize("module", [runs_module, wording], ids=lambda m: m.__name__)
def test_examples_in_the_docstrings(module: object) -> None:
    results = doctest.testmod(module)  # type: ignore[arg-type]
    assert results.attempted >= 1
    assert results.failed == 0


def run(setup: str, seconds: float, number: int = 0, **beside: object) -> Run:
    return Run(setup, str(number), {GATE.key: Value(seconds)}, **beside)  # type: ignore[arg-type]


def day(setups: str, seconds: list[float], **columns: list[object]) -> list[Run]:
    return [
        run(setup, value, i + 1, **{name: column[i] for name, column in columns.items()})
        for i, (setup, value) in enumerate(zip(setups, seconds, strict=True))
    ]


def only(comparison: Comparison) -> Verdict:
    (verdict,) = comparison.verdicts
    return verdict


STOCK, CUT = [8.42, 8.51, 8.38, 8.47, 8.55, 8.44], [8.21, 8.29, 8.17, 8.33, 8.26, 8.24]


def test_two_columns_of_times_are_welchs_test() -> None:
    found = only(compare(day("A" * 6 + "B" * 6, STOCK + CUT), [GATE]))
    theirs = stats.ttest_ind(CUT, STOCK, equal_var=False)
    low, high = theirs.confidence_interval()
    np.testing.assert_allclose(
        [found.difference, found.low, found.high, found.p], [np.mean(CUT) - np.mean(STOCK), low, high, theirs.pvalue]
    )
    assert found.method == "Welch's test"
    assert found.shuffled is not None
    assert found.shuffled.p == pytest.approx(2 / 924)
    assert sentence(found).startswith("B is quicker than A by 0.212 s (0.135 to 0.288); ")
    assert sentence(found).endswith("more runs each would halve that interval.")
    assert "in which order they were driven" in " ".join(found.warnings)


def test_the_runs_that_would_halve_the_interval_do() -> None:
    """Promised for the same scatter: twice that scatter-free arithmetic by drawing many bigger days."""
    found = only(compare(day("A" * 6 + "B" * 6, STOCK + CUT), [GATE]))
    assert found.more_runs is not None
    n = 6 + found.more_runs
    sd = np.sqrt((np.var(STOCK, ddof=1) + np.var(CUT, ddof=1)) / 2)
    wide = stats.t.ppf(0.975, found.df) * found.se
    narrow = stats.t.ppf(0.975, 2 * n - 2) * sd * np.sqrt(2 / n)
    assert narrow == pytest.approx(wide / 2, rel=0.1)


def test_runs_that_tell_nothing_say_so_and_what_they_could_have_told() -> None:
    found = only(compare(day("AAABBBB", [6.9, 7.01, 6.88, 6.91, 6.97, 7.02, 6.94]), [GATE]))
    assert not found.shown
    said = sentence(found)
    assert said.startswith("These runs cannot tell A and B apart: B less A is +0.03 s (-0.11 to +0.17).")
    assert said.endswith("The smallest difference they could have shown, four times in five, is 0.19 s.")
    seen = abs(stats.nct.rvs(found.df, 0.19 / found.se, size=40_000, random_state=1)) > stats.t.ppf(0.975, found.df)
    assert np.mean(seen) == pytest.approx(0.8, abs=0.02)
    assert "with 3 runs of A and 4 runs of B the interval trusts" in " ".join(found.warnings)


def test_two_against_five_say_that_the_width_is_their_own() -> None:
    found = only(compare(day("AAAAABB", [6.42, 6.55, 6.61, 6.5, 6.48, 6.21, 6.3]), [GATE]))
    assert found.method == "Welch's test, its width set for so few runs"
    theirs = stats.ttest_ind([6.21, 6.3], [6.42, 6.55, 6.61, 6.5, 6.48], equal_var=False)
    assert found.difference == pytest.approx(-0.257)
    assert found.df == pytest.approx(theirs.df)
    assert found.high - found.low != pytest.approx(np.ptp(theirs.confidence_interval()), rel=0.01)


def test_three_against_three_can_never_convince_by_shuffling() -> None:
    found = only(compare(day("AAABBB", [8.0, 8.01, 8.02, 7.0, 7.01, 7.02]), [GATE]))
    assert found.shown
    assert exact_words(found) == "by shuffling, 20 ways: p = 0.10; with so few runs it can never be below 0.10"


def test_two_gates_of_the_same_width_both_speak() -> None:
    """A pipe that loses at low speed and wins at high speed is not judged by whichever gate was typed first."""
    low, high = Measure("40 to 60 km/h", "s", "less", 20.0), Measure("60 to 80 km/h", "s", "less", 20.0)
    runs = [
        Run(s, str(i), {low.key: Value(a + 0.01 * (i % 3)), high.key: Value(b + 0.01 * (i % 2))})
        for i, (s, a, b) in enumerate([("A", 2.5, 2.9), ("B", 2.7, 2.6)] * 4)
    ]
    found = compare(runs, [low, high, Measure("40 to 50 km/h", "s", "less", 10.0)])
    assert found.mains == (low, high)
    assert [one.measure.words(one.difference) for one in found.verdicts] == ["slower", "quicker"]


def test_pairs_are_seen_and_used() -> None:
    a = [8.42, 8.51, 8.38, 8.47, 8.55, 8.44, 8.49, 8.40]
    b = [8.33, 8.46, 8.31, 8.35, 8.52, 8.39, 8.36, 8.37]
    pairs = [str(i) for i in range(8)] * 2
    found = only(compare(day("A" * 8 + "B" * 8, a + b, pair=pairs), [GATE]))  # type: ignore[arg-type]
    theirs = stats.ttest_rel(b, a)
    assert found.method == "differences within pairs"
    assert found.p == pytest.approx(theirs.pvalue)
    assert (found.low, found.high) == pytest.approx(tuple(theirs.confidence_interval()))
    assert "more pairs would halve" in sentence(found)
    loose = only(compare(day("A" * 8 + "B" * 8, a + b, pair=pairs), [GATE], leave_out=["pair"]))  # type: ignore[arg-type]
    assert loose.method == "Welch's test"


def test_a_drift_that_was_written_down_goes_in_beside() -> None:
    """ABBA twice, each run 0.05 s slower than the one before; B is 0.3 s quicker."""
    noise = [0.004, -0.006, 0.002, 0.001, -0.003, 0.005, -0.004, 0.002]
    seconds = [8.0 + 0.05 * i - 0.3 * (s == "B") + noise[i] for i, s in enumerate("ABBAABBA")]
    found = only(compare(day("ABBAABBA", seconds, order=list(range(8))), [GATE]))
    assert found.method == "Welch's test with order beside"
    assert found.difference == pytest.approx(-0.3, abs=0.01)
    assert found.slopes[0][1] == pytest.approx(0.05, abs=0.003)
    assert slope_words(found, GATE) == ["each run later in the day: +0.050 s"]
    without = only(compare(day("ABBAABBA", seconds, order=list(range(8))), [GATE], leave_out=["order"]))
    assert without.design.left_out == (("order", "not wanted"),)
    assert found.high - found.low < 0.2 * (without.high - without.low)


def test_three_before_and_three_after_say_that_drift_and_difference_are_mixed() -> None:
    found = only(compare(day("AAABBB", [8.0, 8.05, 8.02, 7.7, 7.72, 7.75], order=[1, 2, 3, 4, 5, 6]), [GATE]))
    assert found.design.covariates == ("order",)
    assert "take turns next time (A B B A)" in " ".join(found.warnings)


def test_what_the_runs_cannot_carry_is_left_out_with_its_reason() -> None:
    ways = ["up", "down"] * 2
    found = only(compare(day("ABBA", [8.0, 7.9, 8.1, 7.8], order=[1, 2, 3, 4], direction=ways), [GATE]))  # type: ignore[arg-type]
    why = "4 runs are too few to carry it as well, and it does neither setup a favour"
    assert (found.design.covariates, found.design.left_out) == (("direction",), (("order", why),))
    warm = [Run(r.setup, r.name, r.measures, beside={"air C": 18.0 + i}) for i, r in enumerate(day("ABBAA", [8.0] * 5))]
    assert only(compare(warm, [GATE])).design.left_out == (("air C", "5 runs are too few to carry it as well"),)
    apart = only(compare(day("AAABBB", [8.0, 8.1, 8.0, 7.9, 7.8, 7.9], day=["Mon"] * 3 + ["Tue"] * 3), [GATE]))
    assert dict(apart.design.left_out)["day"].startswith("it says the same as the setup")
    assert "never driven on the same day" in " ".join(apart.warnings)


def test_a_covariate_that_says_what_another_said_is_left_out() -> None:
    """The air warms by a tenth of a degree a run: place in the day and temperature are one thing, told once."""
    runs = [
        Run(s, str(i), {GATE.key: Value(8.0 + 0.01 * (i * 7 % 5))}, order=i, beside={"air C": 18.0 + 0.1 * i})
        for i, s in enumerate("ABBAABBA")
    ]
    found = only(compare(runs, [GATE]))
    assert found.design.covariates == ("order",)
    assert dict(found.design.left_out)["air C"].startswith("it ")
    wobbling = [
        Run(r.setup, r.name, r.measures, order=r.order, beside={"air C": 18.0 + 0.1 * i + 0.02 * (i % 3)})
        for i, r in enumerate(runs)
    ]
    assert (
        dict(only(compare(wobbling, [GATE])).design.left_out)["air C"] == "it goes up and down with what went in before"
    )


def test_a_number_written_beside_takes_out_what_it_explains() -> None:
    temperature = [18.2, 19.0, 19.8, 20.5, 21.3, 19.1, 19.9, 20.7, 21.2, 22.0]
    seconds = [8.4, 8.43, 8.47, 8.48, 8.53, 8.27, 8.29, 8.34, 8.36, 8.38]
    runs = [
        Run("AB"[i >= 5], str(i), {GATE.key: Value(s)}, beside={"air °C": t})
        for i, (s, t) in enumerate(zip(seconds, temperature, strict=True))
    ]
    found = only(compare(runs, [GATE]))
    assert found.difference == pytest.approx(-0.16726218, rel=1e-6)  # statsmodels, tests/reference/08_statistics.toml
    assert slope_words(found, GATE) == ["for 1 of air °C: +0.041 s"]
    assert found.shuffled is None


def test_several_setups_are_held_against_the_first_with_holm() -> None:
    dice = np.random.default_rng(2)
    runs = [
        run(setup, float(dice.normal(mean, 0.05)), i)
        for setup, mean in (("stock", 8.0), ("cut", 7.8), ("pipe", 7.92), ("jet", 8.0))
        for i in range(6)
    ]
    found = compare(runs, [GATE])
    assert [one.second.setup for one in found.verdicts] == ["cut", "pipe", "jet"]
    raw = sorted(one.p for one in found.verdicts)
    assert min(one.p_adjusted for one in found.verdicts) == pytest.approx(3 * raw[0])
    assert found.any_differs[0][1] == pytest.approx(
        stats.f_oneway(*([r.measures[GATE.key].value for r in runs if r.setup == s] for s in found.setups)).pvalue
    )
    turned = compare(runs, [GATE], ["jet", "stock"])
    assert (turned.setups, len(turned.verdicts)) == (("jet", "stock"), 1)


def test_one_of_many_says_that_it_is_one_of_many() -> None:
    runs = day("A" * 5, [8.0, 8.1, 8.05, 7.95, 8.02]) + day("B" * 5, [7.9, 7.95, 7.99, 7.88, 8.0])
    for name in "CDE":
        runs += day(name * 5, [8.01, 8.09, 8.04, 7.96, 8.03])
    (b, *_) = compare(runs, [GATE]).verdicts
    assert b.p < 0.05 < b.p_adjusted
    assert "as one of four comparisons it is not sure enough" in sentence(b)


def test_a_run_that_stands_apart_is_shown_and_counts_until_it_is_dropped() -> None:
    seconds = [8.42, 8.51, 8.38, 8.47, 8.55, 12.0, 8.21, 8.29, 8.17, 8.33, 8.26, 8.24]
    runs = day("A" * 6 + "B" * 6, seconds)
    found = only(compare(runs, [GATE]))
    assert found.first.apart == ("6",)
    assert "run 6 of A stands apart" in " ".join(found.warnings)
    assert not found.shown
    runs[5] = dropped(runs[5], "missed second gear")
    without = compare(runs, [GATE])
    assert only(without).shown
    assert [one.dropped for one in without.runs if one.dropped] == ["missed second gear"]
    with pytest.raises(TrialError, match="only slow is no reason"):
        dropped(runs[0], " ")


def test_a_stopwatch_that_shows_tenths_does_not_prove_a_hundredth() -> None:
    seconds = {"A": 8.1, "B": 8.0}
    tenths = [Run(s, str(i), {GATE.key: Value(seconds[s], step=0.1)}) for i, s in enumerate("AAABBB")]
    found = only(compare(tenths, [GATE]))
    assert found.clock_limited
    assert found.high - found.low > 0.1


@pytest.mark.parametrize(
    ("runs", "setups", "said"),
    [
        (day("AABB", [1.0, 2.0, 3.0, 4.0]), ["A", "Z"], "a setup called Z"),
        (day("AAA", [1.0, 2.0, 3.0]), [], "at least two"),
        (day("AAB", [1.0, 2.0, 3.0]), [], "nothing can be compared"),
        ([], [], "at least two"),
    ],
)
def test_what_cannot_be_compared_is_refused(runs: list[Run], setups: list[str], said: str) -> None:
    with pytest.raises(TrialError, match=said):
        compare(runs, [GATE], setups)


def test_pairs_that_do_not_take_turns_say_what_is_left_of_a_drift() -> None:
    seconds = [5.10, 4.90, 4.93, 5.20, 5.15, 4.98, 4.95, 5.18]
    pairs = ["1", "1", "2", "2", "3", "3", "4", "4"]
    three = day("ABBAAB", seconds[:6], pair=pairs[:6], order=[1, 2, 3, 4, 5, 6])  # type: ignore[arg-type]
    held = only(compare(three, [GATE]))
    assert held.df == 1.0
    assert "with order taken out, one degree of freedom is left" in " ".join(held.warnings)
    assert "drive one pair more" in " ".join(held.warnings)
    odd = only(compare(three, [GATE], leave_out=["order"]))
    assert odd.method == "differences within pairs"
    assert "A came before B in 2 of 3 pairs: 0.33 times what the day's drift adds" in " ".join(odd.warnings)
    even = only(compare(day("ABBAABBA", seconds, pair=pairs, order=list(range(8))), [GATE]))  # type: ignore[arg-type]
    assert "came before" not in " ".join(even.warnings)
    unknown = only(compare(day("ABBAABBA", seconds, pair=pairs), [GATE]))  # type: ignore[arg-type]
    assert "which run of each pair came first" in " ".join(unknown.warnings)


def test_no_interval_is_given_where_none_would_hold() -> None:
    """Two and two one setup after the other, out and back: with one degree of freedom left, drift stays in."""
    runs = day("AABB", [8.0, 8.1, 7.7, 7.8], order=[1, 2, 3, 4], direction=["out", "back"] * 2)
    with pytest.raises(TrialError, match=r"4 runs with direction beside cannot carry order .* no interval would hold"):
        compare(runs, [GATE])
    sure = only(compare(runs, [GATE], leave_out=["order"]))
    assert sure.design.left_out == (("order", "not wanted"),)


def test_pairs_that_always_begin_with_the_same_setup_become_single_runs() -> None:
    """Each run 0.1 s slower than the one before: within pairs that is a difference, one by one it is a drift."""
    noise = [0.004, -0.006, 0.002, 0.001, -0.003, 0.005, -0.004, 0.002]
    seconds = [8.0 + 0.1 * i + noise[i] for i in range(8)]
    runs = day("ABABABAB", seconds, pair=list("11223344"), order=list(range(8)))  # type: ignore[arg-type]
    found = only(compare(runs, [GATE]))
    assert found.method == "Welch's test with order beside"
    assert not found.shown
    assert dict(found.design.left_out)["pair"].endswith("cannot tell order from the setup")
    fooled = only(compare(runs, [GATE], leave_out=["order"]))
    assert fooled.method == "differences within pairs"
    assert fooled.shown


def test_a_wind_within_pairs_is_taken_out() -> None:
    """B went out in four pairs of six, and out is 0.2 s quicker."""
    out = [False, True, False, True, True, False, False, True, False, True, True, False]
    noise = [0.004, -0.006, 0.002, 0.001, -0.003, 0.005, -0.004, 0.002, 0.003, -0.001, 0.002, -0.002]
    runs = day(
        "ABABBAABABAB", [8.0 - 0.2 * w + e for w, e in zip(out, noise, strict=True)],
        pair=[str(i // 2) for i in range(12)], direction=["out" if one else "back" for one in out],
    )  # fmt: skip
    found = only(compare(runs, [GATE]))
    assert found.method == "differences within pairs, with direction beside"
    assert found.slopes[0] == ("direction out against back", pytest.approx(-0.2, abs=0.01))
    assert not found.shown


# Setups in the order driven; scatter of B over that of A; drift a run; whether each run's place is written down;
# whether runs that followed each other are pairs; whether they went out and back in turn, in a wind.
DAYS = {
    "three and three in turns": ("ABABAB", 1.0, 0.0, False, False, False),
    "three and three, drift written down": ("ABBAAB", 1.5, 0.5, True, False, False),
    "three and three, out and back, drift, unequal scatter": ("ABBAAB", 3.0, 0.5, True, False, True),
    "three and three, A first, drift, unequal scatter": ("AAABBB", 3.0, 0.5, True, False, False),
    "four and four, drift, unequal scatter": ("ABBAABBA", 3.0, 0.5, True, False, False),
    "three pairs, unequal scatter": ("ABBAAB", 3.0, 0.0, False, True, False),
    "three pairs, drift, unequal scatter": ("ABBAAB", 3.0, 1.0, True, True, False),
    "four pairs, drift, unequal scatter": ("ABBAABBA", 2.0, 0.5, True, True, False),
    "five pairs, drift, unequal scatter": ("ABBAABBAAB", 2.0, 0.5, True, True, False),
}


@pytest.mark.parametrize("told", DAYS.values(), ids=DAYS.keys())
def test_whole_verdicts_hold_over_two_thousand_days(told: tuple[str, float, float, bool, bool, bool]) -> None:
    """The choice of the design included: 93 to 97 % of the intervals hold the truth, at most 6 % false alarms."""
    setups, ratio, drift, ordered, paired, ways = told
    dice, true, covered, alarms, days = np.random.default_rng(8), -0.2, 0, 0, 2000
    second = np.array([name == "B" for name in setups])
    order = list(range(len(setups))) if ordered else [None] * len(setups)
    pair = [str(i // 2) if paired else "" for i in range(len(setups))]
    way = [("out", "back")[i % 2] if ways else "" for i in range(len(setups))]
    wind = 0.07 * np.array([one == "back" for one in way])
    for _ in range(days):
        seconds = 8.0 + 0.1 * dice.normal(size=second.size) * np.where(second, ratio, 1.0)
        seconds += 0.1 * drift * np.arange(second.size) + wind
        nothing = only(compare(day(setups, list(seconds), order=order, pair=pair, direction=way), [GATE]))  # type: ignore[arg-type]
        alarms += nothing.shown
        covered += nothing.low + true <= true <= nothing.high + true
    assert 0.93 <= covered / days <= 0.97
    assert alarms / days <= 0.06
