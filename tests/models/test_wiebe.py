import doctest

from scribeline.models import wiebe


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(wiebe).failed == 0


def test_faster_squish_never_lengthens_the_burn_and_its_reach_is_limited() -> None:
    factors = [wiebe.squish_factor(0.1 * i) for i in range(60)]
    assert factors == sorted(factors, reverse=True)
    assert (factors[0], factors[-1]) == (1.15, 0.85)
    assert wiebe.squish_factor(wiebe.USUAL_SQUISH) == 1.0
