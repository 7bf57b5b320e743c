"""Each kind of opening that a record can describe is simulated from the record, and does what it is there for."""

import numpy as np
import pytest

from scribeline.engine import EngineRecord
from scribeline.engine.breathing import Exhaust, Section
from scribeline.tasks.curve import Point, power_curve
from tests.cycle.test_from_record import DISC
from tests.examples import REED, edited
from tests.tasks.curves import COARSE


def at(record: EngineRecord, speed_rpm: float) -> Point:
    (point,) = power_curve(record, (speed_rpm,), COARSE).points
    assert point.why_not == ""
    return point


def without(record: EngineRecord, role: str) -> EngineRecord:
    return record.model_copy(update={"ports": tuple(p for p in record.ports if p.role != role)})


def with_disc(inlet_mm: float) -> EngineRecord:
    disc = DISC.replace("inlet_diameter_mm = 26.0", f"inlet_diameter_mm = {inlet_mm}")
    return edited(('[intake]\ncontrol = "piston port"\n', disc), ("airbox_cc = 900\n", ""),
                  ("carburettor_bore_mm = 24.0\n", ""))  # fmt: skip


def test_a_rotary_disc_lets_in_while_it_is_open_and_an_inlet_of_a_quarter_lets_in_half():
    wide, narrow = at(with_disc(26.0), 8500.0), at(with_disc(13.0), 8500.0)
    assert wide.recording is not None
    angle = np.degrees(wide.recording.theta_rad) % 360.0
    flow = np.abs(np.asarray(wide.recording.intake.flow_kg_s))
    # a step is 0.03 rad at most, 1.7 degrees, and what is recorded is a straight line from one step to the next
    shut = (angle > 62.0) & (angle < 228.0)
    assert flow[shut].max() == 0.0
    assert flow[~shut].max() > 0.01
    assert narrow.got.delivery_ratio < 0.6 * wide.got.delivery_ratio


def test_a_finger_port_is_a_transfer_of_its_own():
    """The same window under another role delivers the same; without it less comes in."""
    kart = edited()
    ports = tuple(p.model_copy(update={"role": "finger"}) if p.name == "rear transfer" else p for p in kart.ports)
    finger = kart.model_copy(update={"ports": ports})
    assert at(finger, 9000.0).got.imep_pa == at(kart, 9000.0).got.imep_pa
    assert at(without(finger, "finger"), 9000.0).got.delivery_ratio < 0.9 * at(kart, 9000.0).got.delivery_ratio


def test_auxiliary_exhausts_let_more_out_before_the_transfers_open():
    """Of the pressure at exhaust opening, which depends on the charge, less is left."""
    reed = edited(name=REED)
    left = []
    for record in (reed, without(reed, "auxiliary exhaust")):
        recording = at(record, 9000.0).recording
        assert recording is not None
        opens, transfers = np.interp(
            [recording.opens_rad, recording.transfer_opens_rad], recording.theta_rad, recording.cylinder_pa
        )
        left.append(transfers / opens)
    assert left[0] < 0.9 * left[1]


def test_an_end_muffler_is_two_more_sections():
    """A can of 100 mm and a narrow outlet behind the stinger: they dam up the gas, so it leaves hotter, less comes in,
    and more of it stays."""
    kart = edited()
    assert kart.exhaust is not None
    tail = [
        {"name": name, "length_mm": 100, "start_mm": bore, "end_mm": bore}
        for name, bore in (("can", 100), ("outlet", 14))
    ]
    sections = (*kart.exhaust.sections, *(Section.model_validate(one) for one in tail))
    muffled = at(kart.model_copy(update={"exhaust": Exhaust(sections=sections)}), 8500.0).got
    plain = at(kart, 8500.0).got
    assert muffled.delivery_ratio < 0.95 * plain.delivery_ratio
    assert muffled.trapping_efficiency > plain.trapping_efficiency
    assert muffled.exhaust_k > plain.exhaust_k
    assert muffled.imep_pa == pytest.approx(plain.imep_pa, rel=0.3)
