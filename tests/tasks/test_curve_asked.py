"""Knobs as they are typed: read, refused with what is accepted, and seen in the curve and in what it relied on."""

import json

import pytest

from scribeline.cycle.engine import Knobs
from scribeline.cycle.simulate import Settings
from scribeline.errors import CycleError
from scribeline.tasks.curve import curve_json, power_curve
from scribeline.tasks.curve_asked import knobs_of
from scribeline.tasks.curve_text import curve_text
from tests.examples import edited
from tests.tasks.curves import COARSE, curve_of


def test_what_is_typed_is_what_is_turned() -> None:
    assert knobs_of([]) is None
    assert knobs_of(["mixing = 0.5", "scavenging_curve=0,-1,-0.2"]) == Knobs(
        mixing=0.5, scavenging_curve=(0.0, -1.0, -0.2)
    )


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("mixing", "mixing=a number"),
        ("mixing=2", "mixing from 0 to 1"),
        ("mixing=nan", "mixing=a number"),
        ("blend=1", "NAME=VALUE with one of analogy, annand_a, barely_open"),
        ("scavenging_curve=1", "scavenging_curve=K0,K1,K2"),
        ("scavenging_curve=0,1,0", "K1 below 0"),
        ("octane=98", "NAME=VALUE with one of"),
    ],
)
def test_what_is_no_knob_or_no_value_is_refused(typed: str, said: str) -> None:
    with pytest.raises(CycleError, match=said):
        knobs_of([typed])


def test_a_curve_uses_them_and_says_that_they_were_turned() -> None:
    knobs = knobs_of(["mixing=1", "friction=0"])
    assert knobs is not None
    curve = power_curve(edited(), [8500.0], Settings(cell_m=COARSE.cell_m, knobs=knobs))
    point, plain = curve.points[0].got, curve_of().points[1].got
    assert point.bmep_pa == pytest.approx(point.imep_pa)
    assert point.scavenging_efficiency < plain.scavenging_efficiency - 0.02
    assert "mixing 1 (TURNED, usually 0.7)" in " ".join(curve_text(curve).split())
    stated = {k["name"]: k for one in json.loads(curve_json(curve))["relied_on"] for k in one["knobs"]}
    assert (stated["friction"]["value"], stated["friction"]["usual"]) == (0.0, 150.0)


def test_a_leak_costs_trapped_charge() -> None:
    leaky = power_curve(edited(), [8500.0], COARSE, blow_by_mm2=3.0)
    assert leaky.points[0].got.imep_pa < 0.98 * curve_of().points[1].got.imep_pa
    assert json.loads(curve_json(leaky))["blow_by_mm2"] == pytest.approx(3.0)
