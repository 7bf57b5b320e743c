"""The lines of the card: what is known, what is assumed, which way is used, and the formula with numbers put in."""

import numpy as np
import pytest

from scribeline.geometry.working import Worked, Workings


def formula(text: str, **inputs: str) -> Worked:
    return Worked("x", "a number", "mm", 1.0, None, text, "definition", inputs, "topic")


def test_every_symbol_is_replaced_once_and_nothing_else() -> None:
    worked = formula("A · (g + c) / 1000 − gap", A="area", g="gasket", c="deck")
    assert worked.put_in({"area": "1965", "gasket": "0.70", "deck": "0.62"}) == "1965 · (0.70 + 0.62) / 1000 − gap"


def test_a_number_put_in_is_not_read_as_a_symbol_again() -> None:
    assert formula("a + b", a="first", b="second").put_in({"first": "b", "second": "2"}) == "b + 2"


def test_symbols_that_do_not_stand_in_the_formula_follow_it() -> None:
    w = Workings({})
    for name in ("stroke", "depth"):
        w.assume(name, 1.0, "mm", "for this test")
    w.derive("angle", "angle", "deg", "θ where x(θ) = d", {"d": "depth", "S": "stroke"}, lambda d, s: d + s)
    derived = w.derivations["angle"]
    assert derived.formula == "θ where x(θ) = d, with S"
    worked = formula(derived.formula, **derived.inputs)
    assert worked.put_in({"depth": "28.3", "stroke": "50.0"}) == "θ where x(θ) = 28.3, with S = 50.0"


def test_a_line_needs_its_inputs_first_and_stands_once() -> None:
    w = Workings({})
    with pytest.raises(ValueError, match="inputs unknown"):
        w.derive("x", "x", "mm", "a", {"a": "nowhere"}, lambda a: a)
    w.assume("somewhere", 1.0, "mm", "for this test")
    w.derive("x", "x", "mm", "a", {"a": "somewhere"}, lambda a: a)
    with pytest.raises(ValueError, match="derived twice"):
        w.derive("x", "x", "mm", "a", {"a": "somewhere"}, lambda a: a)


def test_assuming_does_not_touch_what_is_known() -> None:
    w = Workings({})
    w.assume("a", 1.0, "mm", "first")
    w.assume("a", 2.0, "mm", "second")
    assert (w.given("a"), w.assumed["a"].reason) == (1.0, "first")


def test_the_first_way_is_used_and_compared_with_each_other() -> None:
    w = Workings({})
    for name in ("a", "b", "c"):
        w.assume(name, 1.0, "mm", "for this test")
        w.derive(f"{name}_way", name, "mm", "x", {"x": name}, lambda x: np.asarray(x))
    ways = [(f"{name}_way", name) for name in "abc"]
    assert w.first_of("thing", "the thing", "mm", ways) == "thing"
    assert w.derivations["thing"].inputs == {"value": "a_way"}
    assert [(c.first, c.second) for c in w.comparisons] == [("a_way", "b_way"), ("a_way", "c_way")]
    assert w.first_of("nothing", "nothing", "mm", []) is None
    assert not w.knows("nothing")
