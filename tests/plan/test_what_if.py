"""Both engines laid beside each other: what moved is what the card says, and limits are said before and after."""

import pytest

from scribeline.geometry.work_out import work_out
from scribeline.plan.limit_table import LimitTable, OneLimit
from scribeline.plan.phrases import read_step
from scribeline.plan.steps import Plan
from scribeline.plan.what_if import what_if, what_moved
from tests.plan.engines import AT_HAND, edited, one


def plan(*steps: str, **further: object) -> Plan:
    return Plan(tuple(map(read_step, steps)), AT_HAND, **further)  # type: ignore[arg-type]


def test_what_moved_is_every_number_that_changed_and_no_other() -> None:
    """A pipe 40 mm longer moves the pipe's length and volume, and nothing else on the card."""
    done = what_if(edited(), plan("change pipe length at header: 40 mm"))
    assert [m.name for m in done.moved] == ["pipe_length_mm", "pipe_volume_cc"]
    assert (done.moved[0].before, done.moved[0].after, done.moved[0].by) == (1040.0, 1080.0, 40.0)


def test_the_share_decides_what_counts_as_moved() -> None:
    """40 of 1040 mm are 3.7 % of 1080."""
    before, after = work_out(edited(), draws=0), work_out(one("change pipe length at header: 40 mm"), draws=0)
    assert [m.name for m in what_moved(before, after, 0.036)] == ["pipe_length_mm"]
    assert what_moved(before, after, 0.038) == ()


def test_a_number_that_appears_or_goes_is_said() -> None:
    done = what_if(edited(), plan('fit reed: "four petals"'))
    gone = {m.name: m for m in done.moved if m.after is None}
    assert "intake_duration_deg" in gone
    assert gone["intake_duration_deg"].by is None


def test_steps_are_put_in_order_and_the_engine_between_them_is_kept() -> None:
    done = what_if(edited(), plan("raise exhaust roof at exhaust: 1 mm", "deck barrel top: 0.5 mm"))
    assert [step.do for step in done.steps] == ["deck barrel top", "raise exhaust roof"]
    assert len(done.reordered) == 1
    assert done.records == (edited(), one("deck barrel top: 0.5 mm"), done.after.record)


def test_limits_are_held_before_and_after() -> None:
    done = what_if(edited(), plan("deck barrel top: 0.6 mm"))
    assert "squish_gap_mm" in {w.about for w in done.warnings_before}
    assert "squish_gap_mm" not in {w.about for w in done.warnings_after}
    tight = LimitTable(set=(OneLimit(name="squish_gap_min_mm", low=0.9),))
    done = what_if(edited(), plan("deck barrel top: 0.6 mm", limits=tight))
    (warning,) = [w for w in done.warnings_after if w.about == "squish_gap_min_mm"]
    assert warning.beyond == pytest.approx(0.12)
    assert done.statements == ()


def test_a_limit_made_looser_or_switched_off_is_said() -> None:
    table = LimitTable(
        set=(
            OneLimit(name="squish_gap_mm", off=True, why="measured with the band cut"),
            OneLimit(name="least_land_mm", low=1.0),
            OneLimit(name="mean_piston_speed_m_s", high=18.0),
            OneLimit(name="knock_margin_octane", low=-5.0),
        )
    )
    done = what_if(edited(), plan("deck barrel top: 0.1 mm", limits=table))
    assert [s.text for s in done.statements] == [
        "The limit on squish_gap_mm is switched off by the builder: measured with the band cut.",
        "The limit on least_land_mm is made looser by the builder, 1 for 2.",
        "The limit on knock_margin_octane is made looser by the builder, -5 for 0.",
    ]
    assert "squish_gap_mm" not in {w.about for w in done.warnings_after}
