"""Numbers and their +/-: random draws against closed forms, the same draws for the same reading, lost draws."""

from math import pi, sqrt

import numpy as np
import pytest

from scribeline.errors import WorkingError
from scribeline.geometry.evaluate import evaluate, plus_minus, shares
from scribeline.geometry.working import Workings


def two_lengths() -> Workings:
    w = Workings({})
    w.assume("a", 3.0, "mm", "for this test", plus_minus=0.3)
    w.assume("b", 4.0, "mm", "for this test", plus_minus=0.4)
    w.assume("exact", 2.0, "", "for this test")
    w.derive("sum", "sum", "mm", "a + b", {"a": "a", "b": "b"}, lambda a, b: a + b)
    w.derive("area", "area", "mm2", "n · a · b", {"n": "exact", "a": "a", "b": "b"}, lambda n, a, b: n * a * b)
    w.derive("back", "back", "mm", "s − b", {"s": "sum", "b": "b"}, lambda s, b: s - b)
    return w


def test_plus_minus_of_a_sum_and_a_product() -> None:
    """Root of the sum of squares, jcgm-100 5.1.2; 1 % is over three standard errors of 200 000 draws."""
    got = evaluate(two_lengths(), draws=200_000).values
    assert got["sum"].value == 7.0
    assert got["sum"].plus_minus == pytest.approx(0.5, rel=0.01)
    assert got["area"].plus_minus == pytest.approx(2.0 * sqrt((4 * 0.3) ** 2 + (3 * 0.4) ** 2), rel=0.01)


def test_what_shares_an_input_moves_with_it() -> None:
    """(a + b) − b is a again: its +/- is that of a alone, not of three independent numbers."""
    assert evaluate(two_lengths(), draws=200_000).values["back"].plus_minus == pytest.approx(0.3, rel=0.01)
    assert shares(two_lengths())["back"] == pytest.approx({"a": 0.3}, rel=1e-9)


def test_first_order_shares_largest_first() -> None:
    assert list(shares(two_lengths())["sum"].items()) == [
        ("b", pytest.approx(0.4, rel=1e-9)),
        ("a", pytest.approx(0.3, rel=1e-9)),
    ]


def test_draws_follow_the_name_and_the_seed() -> None:
    one, other = two_lengths(), Workings({})
    other.assume("b", 40.0, "mm", "another engine", plus_minus=0.4)
    other.derive("b_alone", "b", "mm", "b", {"b": "b"}, lambda b: b)
    moved = evaluate(one, draws=50).samples["b"] - 4.0
    np.testing.assert_allclose(evaluate(other, draws=50).samples["b"] - 40.0, moved, atol=1e-12)
    assert not np.allclose(evaluate(one, draws=50, seed=1).samples["b"] - 4.0, moved)


def test_without_draws_there_is_no_plus_minus() -> None:
    values = evaluate(two_lengths(), draws=0).values
    assert (values["sum"].value, values["sum"].plus_minus, values["sum"].lost) == (7.0, None, 0.0)
    assert plus_minus(np.array([1.0, 2.0])) is None


def test_draws_that_have_no_such_number_are_counted() -> None:
    """√a of a = 1 ± 1: a is below 0 in the 2.275 % of a normal distribution below −2 standard deviations."""
    w = Workings({})
    w.assume("a", 1.0, "mm", "for this test", plus_minus=1.0)
    w.derive("root", "root", "", "√a", {"a": "a"}, np.sqrt)
    root = evaluate(w, draws=100_000).values["root"]
    assert root.lost == pytest.approx(0.02275, abs=0.002)
    assert root.plus_minus is not None


def test_a_number_that_cannot_be_is_refused_with_what_went_in() -> None:
    w = Workings({})
    w.assume("a", -1.0, "mm", "for this test")
    w.derive("root", "root of a", "", "√a", {"a": "a"}, np.sqrt)
    with pytest.raises(WorkingError, match=r"root of a.*a = -1 \(a\)"):
        evaluate(w)


def test_a_line_that_needs_no_array_is_spread_over_the_draws() -> None:
    w = two_lengths()
    w.derive("pi", "pi", "", "π", {"a": "a"}, lambda a: np.asarray(pi))
    assert evaluate(w, draws=10).samples["pi"].shape == (11,)
