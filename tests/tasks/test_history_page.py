"""Curves of two revisions as a page gets them: quick, fine, and what a stop leaves."""

from datetime import UTC, datetime
from typing import Any

import pytest

from scribeline.cycle.simulate import Settings
from scribeline.errors import CycleError
from scribeline.notebook import Revision
from scribeline.tasks import history_page
from scribeline.tasks.curve import Curve, power_curve
from scribeline.tasks.history_page import SoFar, TwoCurves, curves_of_two
from tests.examples import path_of

KART = path_of("club-kart-98").read_text(encoding="utf-8")
QUICK = Settings(cell_m=0.040, tolerance=0.05, flush=1.0)


def revision(number: int, text: str) -> Revision:
    return Revision(str(number), "kart", number, None, "tests", "", datetime(2026, 1, 1, tzinfo=UTC), text, str(number))


PAIR = revision(1, KART), revision(2, KART.replace("advance_deg = 18.0", "advance_deg = 14.0"))


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fine or not, with few long cells: what is tested is what is made of it."""

    def simulated(record: Any, speeds: Any, settings: Any, **more: Any) -> Curve:
        return power_curve(record, speeds, QUICK, **more)

    monkeypatch.setattr(history_page, "power_curve", simulated)


def test_a_stop_among_the_fine_speeds_gives_those_that_both_have_and_the_quick_ones_beyond() -> None:
    told: list[Any] = []

    def stopped() -> bool:
        return any(isinstance(one, SoFar) and one.stage == "fine" and one.done >= 8 for one in told)

    found = curves_of_two(*PAIR, tell=told.append, stopped=stopped)
    assert found.stage == "part"
    assert found.words[0].startswith("Stopped after ")
    assert found.words[0].endswith("these are the fine curves; from there on they are the quick ones.")
    assert [one.stage for one in told if isinstance(one, TwoCurves)] == ["coarse"]
    assert "no result" not in found.drawing.svg


def test_a_stop_at_once_is_told_and_undisturbed_it_is_fine() -> None:
    with pytest.raises(CycleError, match="stopped"):
        curves_of_two(*PAIR, tell=lambda _: None, stopped=lambda: True)
    found = curves_of_two(*PAIR, tell=lambda _: None, stopped=lambda: False)
    assert (found.stage, found.words[0][:12]) == ("fine", "Most power: ")
