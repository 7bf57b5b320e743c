"""A pipe designed from a page: what may be typed, what comes of it, and how it gets among the parts at hand."""

import pytest

from scribeline.errors import GeometryError, TypedValueError
from scribeline.geometry.tuned_length import tuned_speed_rpm
from scribeline.tasks import pipe as tasks
from scribeline.tasks.pipe import design_pipe
from scribeline.tasks.pipe_on_page import pipe_shown, pipe_wanted
from scribeline.tasks.plan_aim import other_parts, with_pipe
from scribeline.tasks.plan_in_hand import plan_in_hand
from tests.examples import edited


def test_the_pipe_by_the_rules_is_shown_as_the_command_makes_it_and_becomes_a_part_at_hand() -> None:
    record = edited()
    wanted = pipe_wanted("9000", "1250", "", wide=False, rules_only=True)
    told: list[object] = []
    shown = pipe_shown(record, wanted, tell=told.append, stopped=lambda: False)
    chosen = design_pipe(record, wanted).chosen
    assert shown.said[0] == f"{chosen.length_mm:.0f} mm from the flange to the open end."
    assert chosen.tuned_length_mm is not None
    assert "<svg" in shown.drawing.svg
    assert "FOR THE RECORD" in shown.report
    box = with_pipe({}, shown.name, shown.record)
    found = plan_in_hand(record, {"box": box})
    assert other_parts(found.plan.box) == [("pipes", 0, "pipe for 9000 rpm")]
    assert [round(one.length_mm.value) for one in found.plan.box.pipes[0].sections] == [
        round(one.length_mm) for one in chosen.sections
    ]


def test_the_tuned_length_is_the_published_one() -> None:
    """A wave out and back at 518 m/s while the exhaust is open: jennings-1973, in SI, worked out here by hand."""
    record = edited()
    one = design_pipe(record, pipe_wanted("9000", "", "", wide=False, rules_only=True)).chosen
    assert one.tuned_length_mm is not None
    assert one.formula_rpm is not None
    open_s = 2.0 * one.tuned_length_mm / 1000.0 / 518.0
    assert one.formula_rpm == pytest.approx(179.5 / 360.0 / open_s * 60.0, rel=0.005)
    assert float(tuned_speed_rpm(one.tuned_length_mm, 179.5, 518.0)) == pytest.approx(one.formula_rpm, rel=0.005)


@pytest.mark.parametrize(
    ("typed", "said"),
    [(("400", "", ""), "accepted: 500 to 30000 rpm"), (("9000", "40", ""), "accepted: 100 mm or more"),
     (("9000", "", "5"), "accepted: 20 mm or more")],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_what_can(typed: tuple[str, str, str], said: str) -> None:
    with pytest.raises(GeometryError, match=said):
        pipe_wanted(*typed, wide=False, rules_only=False)
    with pytest.raises(TypedValueError, match="there is no number"):
        pipe_wanted("", "", "", wide=False, rules_only=False)


def test_a_stopped_search_gives_the_best_it_had_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """As Ctrl-C at the command line: the best so far is compared with the fitted pipe, although stop was asked for."""
    monkeypatch.setattr(tasks, "SWEEP", tasks.SWEEP[::6])
    monkeypatch.setattr(tasks, "CONFIRMED", 1)
    told: list[tuple[str, int, int]] = []
    found = pipe_shown(
        edited(), pipe_wanted("9000", "", "", wide=False, rules_only=False),
        tell=told.append, stopped=lambda: len(told) > 3,
    )  # fmt: skip
    assert "Stopped before the search was finished: this is the best it had." in found.said
    assert any(one.startswith("The fitted pipe: most power ") for one in found.said)
    assert {what for what, _, _ in told} == {"searching", "confirming", "comparing"}
