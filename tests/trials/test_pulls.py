"""Pulls found in a long trace, corrected by hand, and never lost."""

import numpy as np
import pytest

from scribeline.errors import TrialError
from scribeline.trials.pulls import Pull, PullEdit, edited, find_pulls
from tests.trials.roads import Truth, sampled


def afternoon(hz: float, sd: float, seed: int = 4) -> tuple[np.ndarray, np.ndarray, list[tuple[float, float]]]:
    """Five pulls with rolling out, braking and standing between them; when each of them began and ended."""
    truth, dice = Truth(), np.random.default_rng(seed)
    pieces, true, now = [], [], 0.0
    for i in range(5):
        rest = np.full(int(8.0 * 1000), 6.0 if i else 5.8)
        _, up = truth.accelerate(6.0, 8.0)
        _, down = truth.coast(float(up[-1]), 5.0, 1, 0.0, 0.0)
        down = np.repeat(down, 10)[: 5 * 1000]
        brake = np.linspace(down[-1], 6.0, 4000)
        true.append((now + 8.0, now + 8.0 + 8.0))
        pieces += [rest, up, down, brake]
        now += (rest.size + up.size + down.size + brake.size) * 1e-3
    v = np.concatenate(pieces)
    t = np.arange(v.size) * 1e-3
    at, speed = sampled(t, v, hz, sd, dice)
    return at, speed, true


@pytest.mark.parametrize(("hz", "sd"), [(1.0, 0.05), (10.0, 0.1), (25.0, 0.2), (50.0, 0.2)])
def test_every_pull_is_found_and_nothing_else(hz: float, sd: float) -> None:
    at, speed, true = afternoon(hz, sd)
    found = find_pulls(at, speed)
    assert len(found) == len(true)
    for pull, (start, end) in zip(found, true, strict=True):
        assert abs(pull.start_s - start) < 1.0 + 1.0 / hz
        assert abs(pull.end_s - end) < 1.0 + 1.0 / hz
    assert [pull.number for pull in found] == [1, 2, 3, 4, 5]


def test_standing_rolling_and_noise_are_no_pulls() -> None:
    t = np.arange(0.0, 60.0, 0.1)
    dice = np.random.default_rng(1)
    assert find_pulls(t, 8.0 + 0.3 * dice.normal(size=t.size)) == []
    assert find_pulls(t, 25.0 - 0.3 * t) == []
    assert find_pulls(t[:3], t[:3]) == []


def test_no_pull_crosses_a_break_or_a_hole() -> None:
    t = np.arange(0.0, 10.0, 0.1)
    v = 5.0 + 2.0 * t
    assert len(find_pulls(t, v)) == 1
    parted = find_pulls(t, v, breaks_s=[5.0])
    assert [(round(p.start_s), round(p.end_s)) for p in parted] == [(0, 5), (5, 10)]
    holed = np.concatenate([t[:40], t[40:] + 30.0])
    assert len(find_pulls(holed, v)) == 2


FOUND = [Pull(1, 10.0, 18.0, 10.0, 18.0), Pull(2, 40.0, 44.0, 40.0, 44.0)]


def test_corrections_are_laid_over_and_the_found_ends_stay() -> None:
    pulls = edited(
        FOUND,
        [
            PullEdit("trim", 1, "brakes dragged until then", start_s=12.0),
            PullEdit("leave out", 2, "rider gave up"),
            PullEdit("gear", 1, "second, not third", gear=2),
            PullEdit("add", 0, "slow start, the rule missed it", start_s=60.0, end_s=66.0),
        ],
        100.0,
    )
    first, second, third = pulls
    assert (first.start_s, first.end_s, first.gear) == (12.0, 18.0, 2)
    assert (first.found_start_s, first.found_end_s) == (10.0, 18.0)
    assert first.reasons == ("brakes dragged until then", "second, not third")
    assert second.left_out == "rider gave up"
    assert (third.number, third.start_s, third.found_start_s) == (3, 60.0, None)
    back = edited(FOUND, [PullEdit("leave out", 2, "rider gave up"), PullEdit("take back in", 2, "he did not")], 100.0)
    assert back[1].left_out == ""
    assert back[1].reasons == ("rider gave up", "he did not")
    assert FOUND[0].start_s == 10.0


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        (PullEdit("leave out", 1, ""), "without a reason"),
        (PullEdit("leave out", 7, "gone"), "accepted: 1, 2"),
        (PullEdit("trim", 1, "late", start_s=500.0), "within the recording"),
        (PullEdit("trim", 1, "late", start_s=17.0, end_s=12.0), "the end after the"),
        (PullEdit("gear", 1, "which"), "accepted: 1 to 9"),
        (PullEdit("add", 0, "missed", start_s=3.0), "within the recording"),
        (PullEdit("erase", 1, "away"), "accepted: trim"),  # type: ignore[arg-type]
    ],
)
def test_a_correction_that_cannot_be_meant_is_refused(edit: PullEdit, said: str) -> None:
    with pytest.raises(TrialError, match=said):
        edited(FOUND, [edit], 100.0)
