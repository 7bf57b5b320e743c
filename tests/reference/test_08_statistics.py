"""Every check of 08_statistics.toml: certified sets, tests, intervals, power, drift, several comparisons."""

import math

import numpy as np
import pytest
from scipy import special

from scribeline.trials.contrast import contrast
from scribeline.trials.describe import combined, mean, neighbours_alike, one_way, scatter
from scribeline.trials.least_squares import fit
from scribeline.trials.pairs import holm, paired
from scribeline.trials.planning import detectable_paired, detectable_two, runs_needed
from scribeline.trials.shuffles import sign_flips, two_groups
from tests.reference.checks import Check, assert_close, each, not_run

FILE = "08_statistics"


def data_of(check: Check) -> list[float]:
    """The data of a certified set; three of them are given by their rule."""
    given = check.inputs
    if given["data"]:
        return list(given["data"])
    first, low, high = (float(word.strip(",")) for word in given["rule"].split() if word[0].isdigit())
    return [first] + [low if i % 2 == 0 else high for i in range(given["n"] - 1)]


@each(FILE, "strd-Michelso", "strd-Lottery", "strd-NumAcc")
def test_certified_row(check: Check) -> None:
    data = data_of(check)
    got = {"mean": mean(data), "standard_deviation": scatter(data), "lag1_autocorrelation": neighbours_alike(data)}
    assert_close(check, got)


@each(FILE, "strd-anova-")
def test_certified_analysis_of_variance(check: Check) -> None:
    found = one_way(check.inputs["groups"])
    got = {
        "F": found.f,
        "ss_between": found.ss_between,
        "ss_within": found.ss_within,
        "df_between": found.df_between,
        "df_within": found.df_within,
        "p_value": found.p,
    }
    assert_close(check, got)


@each(FILE, "strd-Norris")
def test_certified_straight_line(check: Check) -> None:
    x = np.array(check.inputs["x"])
    found = fit(np.column_stack([np.ones_like(x), x]), check.inputs["y"])
    got = {
        "intercept": found.coefficients[0],
        "slope": found.coefficients[1],
        "se_intercept": found.se[0],
        "se_slope": found.se[1],
        "residual_sd": found.sd,
        "r_squared": found.r_squared,
    }
    assert_close(check, got)


@each(FILE, "welch-")
def test_two_setups(check: Check) -> None:
    """The published difference is a - b, so b goes first; pooled values come from least squares with one scatter."""
    a, b = check.inputs["a"], check.inputs["b"]
    values, second = [*b, *a], [0] * len(b) + [1] * len(a)
    found = contrast(values, second)
    low, high = found.interval()
    pooled = fit(np.column_stack([np.ones(len(values)), second]), values)
    shuffled = two_groups(values, second)
    assert shuffled.exact
    got = {
        "mean_a": mean(a),
        "mean_b": mean(b),
        "sd_a": found.sd[1],
        "sd_b": found.sd[0],
        "difference": found.difference,
        "welch_t": found.t,
        "welch_df": found.df,
        "welch_p": found.p,
        "ci95_low": low,
        "ci95_high": high,
        "pooled_t": pooled.coefficients[1] / pooled.se[1],
        "pooled_p": pooled.p[1],
        "hedges_d": pooled.coefficients[1] / pooled.sd,
        "exact_permutation_p": shuffled.p,
        "permutations": shuffled.ways,
    }
    assert_close(check, got)


@each(FILE, "paired-")
def test_pairs(check: Check) -> None:
    a, b = np.array(check.inputs["a"]), np.array(check.inputs["b"])
    found = paired(b, a).contrast
    low, high = found.interval()
    got = {
        "mean_difference": found.difference,
        "sd_difference": found.sd[0] * math.sqrt(2.0),
        "t": found.t,
        "df": found.df,
        "p": found.p,
        "ci95_low": low,
        "ci95_high": high,
        "exact_sign_flip_p": sign_flips(a - b).p,
    }
    assert_close(check, got)


@each(FILE, "drift-abba")
def test_a_straight_drift(check: Check) -> None:
    true, drift = check.inputs["true_B_minus_A"], check.inputs["drift_per_run"]
    got = {}
    for order in ("abba", "aabb"):
        second = np.array([name == "b" for name in order])
        got[f"{order}_difference"] = contrast(true * second + drift * np.arange(4), second).difference
    assert_close(check, got)


@each(FILE, "ancova")
def test_with_the_temperature_beside(check: Check) -> None:
    """The reference gives both setups one scatter; ours gives each its own, and agrees in what does not need it."""
    given = check.inputs
    setup, temperature = np.array(given["setup"]), np.array(given["temperature_C"])
    found = fit(np.column_stack([np.ones(setup.size), setup, temperature]), given["time_s"])
    half = found.half_width()[1]
    got = {
        "intercept": found.coefficients[0],
        "setup_effect": found.coefficients[1],
        "temperature_slope": found.coefficients[2],
        "se_setup": found.se[1],
        "t_setup": found.coefficients[1] / found.se[1],
        "p_setup": found.p[1],
        "ci95_setup": found.coefficients[1] + np.array([-half, half]),
        "residual_sd": found.sd,
    }
    assert_close(check, got)
    ours = contrast(given["time_s"], setup, temperature)
    assert ours.difference == pytest.approx(check.expected["setup_effect"], rel=1e-8)
    assert ours.slopes[0] == pytest.approx(check.expected["temperature_slope"], rel=1e-8)
    assert 3.0 < ours.df <= 7.0


@each(FILE, "mde-")
def test_smallest_difference(check: Check) -> None:
    given = check.inputs
    n, sd, alpha, wanted = given["runs_per_setup"], given["run_sd_s"], given["alpha"], given["power"]
    got = {
        "effect_size_two_sample": detectable_two(n, 1.0, alpha, wanted),
        "mde_two_sample_s": detectable_two(n, sd, alpha, wanted),
        "effect_size_paired": detectable_paired(n, 1.0, alpha, wanted),
        "mde_paired_if_sd_of_differences_equals_sd_s": detectable_paired(n, sd, alpha, wanted),
    }
    assert_close(check, got)


@each(FILE, "n-for-")
def test_runs_needed(check: Check) -> None:
    given = check.inputs
    n = runs_needed(given["effect_size"], 1.0, given["alpha"], given["power"])
    assert_close(check, {"n_exact": n, "n_rounded_up": math.ceil(n)})


@each(FILE, "bootstrap-coverage-")
def test_why_there_is_no_bootstrap_here(check: Check) -> None:
    """The percentile bootstrap of a few runs is far too narrow; Student's interval, which we use, is not."""
    n, resamples, samples = check.inputs["n"], check.inputs["resamples"], 6000
    dice = np.random.default_rng(n)
    data = dice.normal(size=(samples, n))
    held = 0
    for some in np.array_split(data, 60):
        drawn = dice.integers(0, n, size=(len(some), resamples, n), dtype=np.int8)
        means = np.take_along_axis(some[:, np.newaxis], drawn, axis=2).mean(axis=2)
        low, high = np.quantile(means, [0.025, 0.975], axis=1)
        held += int(((low <= 0.0) & (high >= 0.0)).sum())
    low, high = paired(np.zeros_like(data), data).contrast.interval()
    ours = float(np.mean((low <= 0.0) & (high >= 0.0)))
    assert_close(check, {"percentile_bootstrap_coverage": held / samples, "student_t_coverage": ours})


@each(FILE, "holm")
def test_several_questions(check: Check) -> None:
    assert_close(check, {"adjusted": holm(check.inputs["p"])})


@each(FILE, "gum-h1-result")
def test_effective_degrees_of_freedom(check: Check) -> None:
    """Published rounded; the reference computed the same from its four components unrounded."""
    given = check.inputs
    uc, dof = combined(given["components_nm"], given["dof"])
    t99 = float(special.stdtrit(math.floor(dof), 0.995))
    got = {
        "length_mm": given["standard_mm"] + 1e-6 * given["difference_nm"],
        "uc_nm": round(uc),
        "effective_dof": math.floor(dof),
        "t99": t99,
        "U99_nm": round(t99 * round(uc)),
        "uc_unrounded_nm": uc,
        "dof_unrounded": dof,
        "t99_computed": t99,
        "U99_computed_nm": t99 * uc,
    }
    assert_close(check, got)


def test_every_check_is_run() -> None:
    assert not_run(FILE, __name__) == []
