"""Air and its factors: what they refuse. Their numbers are held against outside values in tests/reference."""

import doctest

import pytest

from scribeline.errors import TrialError
from scribeline.models import moist_air, power_correction, road_load, standard_atmosphere
from scribeline.models.moist_air import Air, air
from scribeline.models.power_correction import STANDARDS, factor, outside
from scribeline.models.road_load import RoadLoad
from scribeline.sources import SOURCES


@pytest.mark.parametrize(
    "module", [moist_air, power_correction, road_load, standard_atmosphere], ids=lambda m: m.__name__
)
def test_examples_in_the_docstrings(module: object) -> None:
    results = doctest.testmod(module)  # type: ignore[arg-type]
    assert results.attempted >= 1
    assert results.failed == 0


def test_dew_point_and_relative_humidity_say_the_same() -> None:
    """At saturation the dew point is the temperature; ASHRAE-like psychrometry at half is checked by CoolProp."""
    from CoolProp.HumidAirProp import HAPropsSI

    assert air(20.0, 1e5, dew_point_c=20.0).vapour_pa == pytest.approx(air(20.0, 1e5, 1.0).vapour_pa, rel=1e-12)
    dew_c = HAPropsSI("D", "T", 293.15, "P", 1e5, "R", 0.5) - 273.15
    assert air(20.0, 1e5, dew_point_c=dew_c).vapour_pa == pytest.approx(air(20.0, 1e5, 0.5).vapour_pa, rel=2e-3)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"t_c": 50.0, "p_pa": 1e5}, "accepted: -10 to 45"),
        ({"t_c": 20.0, "p_pa": 1013.0}, "600 to 1100 hPa"),
        ({"t_c": 20.0, "p_pa": 1e5, "relative_humidity": 55.0}, "55 % is 0.55"),
        ({"t_c": 20.0, "p_pa": 1e5, "dew_point_c": 25.0}, "at most the air's temperature"),
        ({"t_c": 20.0, "p_pa": 1e5, "dew_point_c": 5.0, "relative_humidity": 0.5}, "one of them"),
    ],
)
def test_air_that_cannot_be_is_refused(given: dict[str, float], said: str) -> None:
    with pytest.raises(TrialError, match=said):
        air(**given)


@pytest.mark.parametrize(
    ("name", "of", "said"),
    [
        ("iso-1585", Air(8.0, 1e5, 500.0), "8 °C is outside 10 to 45 °C"),
        ("iso-1585", Air(35.0, 96_000.0, 3000.0), "factor 1.099 is outside 0.93 to 1.07"),
        ("sae-j1349", Air(12.0, 1e5, 900.0), "12 °C is outside 15 to 43 °C"),
        ("sae-j1349", Air(20.0, 88_000.0, 900.0), "871 hPa of dry air are outside"),
        ("best-of-all", Air(20.0, 1e5, 900.0), "accepted: iso-1585, sae-j1349, din-70020"),
    ],
)
def test_no_factor_outside_its_limits(name: str, of: Air, said: str) -> None:
    with pytest.raises(TrialError, match=said):
        factor(name, of)


def test_every_factor_names_a_source_that_there_is() -> None:
    for standard in STANDARDS.values():
        assert standard.source in SOURCES
    assert outside(STANDARDS["din-70020"], Air(8.0, 1e5, 500.0)) == ""


def test_a_height_outside_the_troposphere_is_refused() -> None:
    with pytest.raises(TrialError, match="-1000 to 11000"):
        standard_atmosphere.standard_air(20_000.0)


def test_head_wind_and_slope_hold_back_and_a_strong_tail_wind_pushes() -> None:
    load = RoadLoad(0.0, 0.0, 0.5, 100.0)
    assert load.driven(head_wind_m_s=2.0).force_n(8.0) == 50.0
    assert load.driven(head_wind_m_s=-10.0).force_n(8.0) == -2.0
    assert load.driven(grade=0.01).force_n(0.0) == pytest.approx(9.80617, rel=1e-5)
