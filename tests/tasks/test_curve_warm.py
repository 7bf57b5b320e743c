"""The engine with which a worker fetches its compiled numerics comes to a sound end, or nothing would be fetched."""

from scribeline.tasks.curve_warm import warm


def test_it_is_simulated_to_the_end() -> None:
    (point,) = warm().points
    assert point.result is not None
    assert 2e3 < point.got.power_w < 2e4
