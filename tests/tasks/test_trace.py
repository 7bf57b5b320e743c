import csv
import io
import math

import pytest

from scribeline.errors import CycleError
from scribeline.marking.shapes import Text
from scribeline.tasks.trace import events, trace, trace_csv, trace_drawings, trace_text
from scribeline.tasks.trace_more import over_drawing, ports_drawing
from tests.examples import REED, edited
from tests.tasks.curves import COARSE, trace_of


def rows(name: str) -> list[dict[str, float]]:
    read = csv.DictReader(io.StringIO(trace_csv(trace_of(name))))
    return [{key: float(value) for key, value in row.items()} for row in read]


def test_a_line_for_every_half_degree_with_each_port():
    table = rows("club-kart-98")
    assert [row["deg_atdc"] for row in table] == pytest.approx([0.5 * i for i in range(720)])
    for port in ("exhaust", "main_transfer", "rear_transfer", "intake"):
        assert {f"{port}_{what}" for what in ("g_s", "bar", "c", "fresh", "open_mm2")} <= set(table[0])
    assert "reed_lift_mm" not in table[0]
    lifts = [row["reed_lift_mm"] for row in rows(REED)]
    assert 0.0 < max(lifts) <= 9.5


def test_nothing_flows_through_a_closed_port():
    for row in rows("club-kart-98"):
        if 100.0 < row["deg_atdc"] < 260.0:
            assert row["intake_g_s"] == pytest.approx(0.0, abs=1e-9)
        if not 88.0 < row["deg_atdc"] < 272.0:
            assert row["exhaust_g_s"] == pytest.approx(0.0, abs=1e-9)


def test_what_flows_up_the_transfers_came_in_by_the_intake():
    table = rows("club-kart-98")
    step = 60.0 / 9000.0 / 720
    into, up = (step * sum(sum(row[f"{p}_g_s"] for p in ports) for row in table)
                for ports in (("intake",), ("main_transfer", "rear_transfer")))  # fmt: skip
    assert into == pytest.approx(up, rel=0.01)
    assert into == pytest.approx(
        1e3 * trace_of().result.delivery_ratio * math.pi / 4 * 0.05002**2 * 0.05 * 1.21, rel=0.05
    )


def test_events_are_those_of_the_record():
    got = dict(events(trace_of().recording))
    opens, closes = (trace_of().out.value(f"exhaust_{what}_deg_atdc") for what in ("opens", "closes"))
    assert (got["exhaust opens"], got["exhaust closes"]) == pytest.approx((opens, closes), abs=1e-6)
    assert got["transfers open"] == pytest.approx(111.25, abs=0.6)
    assert got["transfers open"] + got["transfers close"] == pytest.approx(360.0, abs=1.0)


def test_the_drawings_show_every_event():
    panels, waves = trace_drawings(trace_of())
    assert "Club kart 98 at 9000 rpm" in panels.title
    assert "Pressure against the air outside along the exhaust pipe" in waves.description
    for words, _ in events(trace_of().recording):
        for drawing in (panels, waves):
            assert any(getattr(s, "words", "") == words for g in drawing.groups for s in g.shapes)


def test_the_text_gives_the_state_at_every_event():
    one = trace_of()
    text = trace_text(one)
    at = one.recording.at(one.recording.cylinder_pa, one.recording.transfer_opens_rad)
    line = next(line for line in text.splitlines() if line.startswith("transfers open"))
    assert f"{at / 1e5:.2f} bar" in line
    assert one.point.limit in " ".join(text.split())


def test_a_speed_that_cannot_be_simulated_is_refused():
    with pytest.raises(CycleError, match="500 to 30000"):
        trace(edited(), 31000.0, COARSE)


def words(drawing) -> list[str]:
    return [shape.words for group in drawing.groups for shape in group.shapes if isinstance(shape, Text)]


def test_every_port_has_its_line_in_every_panel():
    drawn = words(ports_drawing(trace_of()))
    for port in ("exhaust", "main transfer", "rear transfer", "intake"):
        assert drawn.count(port) == 4, port


def test_two_engines_are_laid_over_each_other_at_one_speed():
    one, other = trace_of(), trace_of(REED)
    drawn = words(over_drawing(one, other))
    assert drawn.count(one.out.record.name) == drawn.count(other.out.record.name) == 7
    text = trace_text(one, other)
    assert f"{one.result.power_w / 1e3:>10.2f}{other.result.power_w / 1e3:>12.2f} kW" in text
    with pytest.raises(CycleError, match="9000 and 8500 rpm cannot be laid"):
        over_drawing(one, trace(edited(), 8500.0, COARSE))
