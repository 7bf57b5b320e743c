"""Every limit from both sides and within the +/-, on the demonstration engine with readings changed.

What each change does to the number that is held against the limit is said beside it, worked out by hand; a record's
stroke of 50.0 mm with 0.5 mm pin offset gives a piston stroke of √(125² − ¼) − √(75² − ¼) = 50.00067 mm.
"""

import re
from math import asin, cos, pi, sin, sqrt

import pytest
from scipy.optimize import brentq

from scribeline.data.handbook import handbook
from scribeline.engine import EngineRecord
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.plan.limits import Warning, limits, warnings
from scribeline.sources import SOURCES
from tests.examples import KART, card_of, edited

DRAWS = 256
EXHAUST_ROOF = "roof_from_deck_mm = { value = 29.1, plus_minus = 0.10"
EXHAUST_ON_THE_WHEEL = (
    "roof_opens_deg_atdc = 92.5      # raw wheel readings, corrected by the piston stop above\n"
    "roof_closes_deg_atdc = 271.5\n"
)
NO_WHEEL = (EXHAUST_ON_THE_WHEEL, "")
PEGS = "ring_pegs_deg = [160, 200]"


def of(about: str, record: EngineRecord, draws: int = DRAWS) -> list[Warning]:
    return [warning for warning in warnings(work_out(record, draws=draws)) if warning.about == about]


def solder(gap_mm: float) -> EngineRecord:
    readings = (f"gap_mm = {reading} " for reading in (1.47, 1.42, 1.38, 1.44))
    return edited(*((reading, f"gap_mm = {{ value = {gap_mm}, plus_minus = 0.02 }} ") for reading in readings))


def speed(rpm: float) -> EngineRecord:
    return edited(("speed_rpm = 9500 ", f"speed_rpm = {rpm} "))


def exhaust_roof(from_deck_mm: float, *more: tuple[str, str]) -> EngineRecord:
    roof = (EXHAUST_ROOF, f"roof_from_deck_mm = {{ value = {from_deck_mm}, plus_minus = 0.10")
    small_corners = (f"{edge}_corner_radius_mm = {radius}" for edge, radius in (("roof", "7.0"), ("floor", "6.0")))
    return edited(roof, NO_WHEEL, *((corner, f"{corner.partition(' ')[0]} = 0.4") for corner in small_corners), *more)


def exhaust_skirt(mm: float) -> EngineRecord:
    return edited(("skirt_exhaust_side_mm = 59.0", f"skirt_exhaust_side_mm = {mm}"))


def intake_roof(from_deck_mm: float) -> EngineRecord:
    return edited(("roof_from_deck_mm = 55.0", f"roof_from_deck_mm = {from_deck_mm}"))


def exhaust_chord(mm: float, *more: tuple[str, str]) -> EngineRecord:
    return edited(("width_chord_mm = 32.0", f"width_chord_mm = {mm}"), *more)


def stinger(mm: float) -> EngineRecord:
    return edited(("= 21.5", f"= {mm}"))


def clearance_reading(cc: float) -> EngineRecord:
    return edited(("clearance_on_engine_cc = { value = 12.6,", f"clearance_on_engine_cc = {{ value = {cc},"))


def main_transfer_clock(deg: float) -> EngineRecord:
    return edited(("clock_deg = 75", f"clock_deg = {deg}"))


def studs(deg: float) -> str:
    stud = f"{{ value = {deg}, plus_minus = 0.5 }}"
    return f"tuds = {{ circle_diameter_mm = 70.0, hole_diameter_mm = 8.0, clock_deg = [{stud}] }}"


def foot_stud(deg: float) -> EngineRecord:
    return edited(("count = 1", f"count = 1\nbase_s{studs(deg)}"))


def head_stud(deg: float) -> EngineRecord:
    return edited(("[head]\n", f"[head]\ns{studs(deg)}\n"))


def top_ring(mm: float) -> EngineRecord:
    return edited(("mass_g = 148", f"mass_g = 148\ntop_ring_from_crown_mm = {mm}"))


def window(top_mm: float) -> EngineRecord:
    """An opening in the skirt on the exhaust side, under the port."""
    opening = f'[[piston.openings]]\nname = "window"\nclock_deg = 0\nwidth_mm = 16\ntop_from_crown_mm = {top_mm}\n'
    return edited(("[head]\n", f"{opening}bottom_from_crown_mm = 58\n\n[head]\n"))


def clutch(rpm: float) -> EngineRecord:
    return edited(("clutch_engages_rpm = 4200", f"clutch_engages_rpm = {rpm}"))


def redline(rpm: float) -> EngineRecord:
    return edited(("clutch_engages_rpm = 4200", f"clutch_engages_rpm = 4200\nredline_rpm = {rpm}"))


# limit -> how the record is made from one reading, then that reading: well inside, on the limit's good side by less
# than the +/-, on its bad side by less than the +/-, well outside.
CASES = {
    # all four alike: the tightest place is the reading itself; the limit is 0.5 mm
    "squish_gap_min_mm": (solder, (0.60, 0.505, 0.495, 0.40)),
    # the mean of four readings, ± 0.02/√4 = 0.01; the limit is 1.0 mm. Half as far again as the +/-, and half as far
    "squish_gap_mm": (solder, (0.985, 0.995, 1.005, 1.015)),
    # 2 · 50.001/1000 · N/60 = N / 599.99 m/s, ± 0.03/50 of it; the limit is 20 m/s
    "mean_piston_speed_m_s": (speed, (11900, 11996, 12004, 12100)),
    # the main transfer's roof is 37.6 mm from the deck
    "blowdown_deg": (exhaust_roof, (36.0, 37.55, 37.65, 39.0)),
    # floor 50.5 - deck clearance 0.62 = 49.88 mm below the crown
    "exhaust_open_under_skirt_mm": (exhaust_skirt, (51.0, 49.92, 49.84, 49.0)),
    # piston stroke 50.001 + deck clearance 0.62 = 50.621 mm from the deck
    "intake_open_above_crown_mm": (intake_roof, (51.5, 50.66, 50.58, 49.5)),
    # 0.70 · 50.00 = 35.000 mm
    "exhaust_width_share_of_bore": (exhaust_chord, (34.0, 34.98, 35.02, 36.0)),
    # 0.58 · 34 = 19.72 mm
    "stinger_share_of_header": (stinger, (20.5, 19.73, 19.71, 19.0)),
    # S/2 · ω² · (1 + S/(2 l)), the pin's offset adding less than a thousandth: 50 000 m/s² at 12 078 rpm, ± 5 rpm
    "piston_acceleration_max_m_s2": (speed, (12000, 12077, 12081, 12160)),
    # in proportion to the speed: 18.7 ± 2.0 m/s at 9500 rpm, so 40 m/s at 20 300 rpm ± a tenth
    "squish_velocity_max_m_s": (speed, (17000, 20000, 20700, 24000)),
    # 98 RON: at most 7.0 + 3 · 0.15 = 7.45 = 1 + A · (28.48 - 0.2)/1000 / Vc, so Vc = 8.61 cc, 1.6 cc under the reading
    "compression_ratio_trapped": (clearance_reading, (11.0, 10.25, 10.17, 9.6)),
    # main to rear transfer: π/360 · 50 · (125 - z - 20.49 - 12.71) = 2 mm at z = 87.2°
    "least_land_mm": (main_transfer_clock, (75, 86.9, 87.6, 98)),
    # 35 · sin z - 32/2 - 8/2 = 1.5 mm at z = 37.9°
    "foot_stud_clearance_mm": (foot_stud, (46, 38.1, 37.7, 31)),
    "head_stud_clearance_mm": (head_stud, (46, 38.1, 37.7, 31)),
    # the exhaust's roof lies 29.1 - 0.62 = 28.48 mm below the crown
    "highest_roof_below_ring_mm": (top_ring, (20.0, 28.45, 28.51, 30.0)),
    # the exhaust's floor lies 50.5 - 0.62 = 49.88 mm below the crown
    "window_clear_of_exhaust_mm": (window, (51.0, 49.92, 49.84, 49.0)),
    "speed_under_redline_rpm": (redline, (9700, 9550, 9450, 9300)),
    "speed_over_clutch_rpm": (clutch, (9300, 9450, 9550, 9700)),
}


def test_every_limit_has_a_case() -> None:
    assert set(CASES) == {limit.name for limit in limits()}


@pytest.mark.parametrize("name", CASES)
def test_well_inside_is_no_warning(name: str) -> None:
    make, (inside, *_) = CASES[name]
    assert of(name, make(inside)) == []


@pytest.mark.parametrize("which", [1, 2], ids=["just inside", "just outside"])
@pytest.mark.parametrize("name", CASES)
def test_within_the_plus_minus_it_may_be(name: str, which: int) -> None:
    make, values = CASES[name]
    (warning,) = of(name, make(values[which]))
    assert " may be " in warning.message
    assert not warning.certain


@pytest.mark.parametrize("name", CASES)
def test_well_outside_it_is(name: str) -> None:
    make, (*_, outside) = CASES[name]
    (warning,) = of(name, make(outside))
    assert re.search(r" is (above|below) .* ± ", warning.message)
    assert warning.certain


@pytest.mark.parametrize("name", CASES)
def test_without_plus_minus_the_limit_itself_decides(name: str) -> None:
    make, (_, just_inside, just_outside, _) = CASES[name]
    assert of(name, make(just_inside), draws=0) == []
    (warning,) = of(name, make(just_outside), draws=0)
    assert warning.certain
    assert "±" not in warning.message


def test_a_warning_says_which_side_what_follows_and_what_to_do() -> None:
    (warning,) = of("mean_piston_speed_m_s", speed(12100), draws=0)
    assert warning.message == (
        "Mean piston speed is above 20 m/s: 20.2 m/s. Only racing pistons, rods and rings last at this speed."
    )
    assert warning.remedy == "aim at a lower crank speed, or use parts made for it"
    assert warning.source == "common-practice"
    (warning,) = of("blowdown_deg", exhaust_roof(39.0), draws=0)
    assert warning.message.startswith("Blowdown: exhaust opens before the transfers is below 0°: -")


def test_ranges_of_the_handbook_are_the_handbooks() -> None:
    guides = {
        "squish_gap_min_mm": "squish_gap_mm",
        "squish_gap_mm": "squish_gap_mm",
        "exhaust_width_share_of_bore": "exhaust_chord_share_max",
        "stinger_share_of_header": "stinger_diameter_ratio",
    }
    by_name = {limit.name: limit for limit in limits()}
    for name, guide in guides.items():
        limit, entry = by_name[name], handbook()[guide]
        assert limit.source == entry.source
        assert (limit.low, limit.high) in [(entry.low, None), (None, entry.high)]


@pytest.mark.parametrize("limit", limits(), ids=lambda limit: limit.name)
def test_a_limit_has_a_source_and_words_for_each_side(limit: object) -> None:
    (one,) = (each for each in limits() if each == limit)
    assert one.source in SOURCES
    assert one.remedy
    assert (one.low is not None, one.high is not None) == (bool(one.too_low), bool(one.too_high))


@pytest.mark.parametrize("bridge", [0.0, 3.0])
def test_a_bridge_supports_the_ring_and_no_bridge_does_not(bridge: float) -> None:
    wide = exhaust_chord(38.0, ('role = "exhaust"\n', f'role = "exhaust"\nbridge_mm = {bridge}\n'))
    assert len(of("exhaust_width_share_of_bore", wide)) == (bridge == 0.0)
    half_angle = asin(38.0 / 50.0) - bridge / 50.0  # of one half, between its side and the bridge's
    share = sin(0.5 * half_angle) if bridge else 38.0 / 50.0
    assert work_out(wide, draws=0).value("exhaust_width_share_of_bore") == pytest.approx(share, abs=1e-9)


def test_every_message_is_a_sentence_with_a_known_source() -> None:
    record = edited((PEGS, "ring_pegs_deg = [0, 180]"), ("speed_rpm = 9500 ", "speed_rpm = 13000 "))
    record_too = reached_by_some()
    off = edited((EXHAUST_ON_THE_WHEEL, "roof_opens_deg_atdc = 97.5\nroof_closes_deg_atdc = 266.5\n"))
    found = [warning for one in (record, record_too, off) for warning in warnings(work_out(one, draws=DRAWS))]
    assert len({warning.about for warning in found}) >= 5
    for warning in found:
        assert re.fullmatch(r"[A-Z].*[^.]\.", warning.message), warning.message
        assert warning.source in SOURCES
        assert warning.remedy
        assert warning.remedy[-1] != "."


# --- ring ends -------------------------------------------------------------------------------------------------------
# Half the width of a port round the bore is asin(chord / bore): exhaust 39.8°, main transfer 20.5°, rear transfer
# 12.7°, intake 36.9°. Clock positions are judged by eye, ± 5°, and so is a peg: ± 7.1° together.


def ring_ends(*pegs_deg: str, also: tuple[tuple[str, str], ...] = (), draws: int = DRAWS) -> list[tuple[str, bool]]:
    """Port and certainty of each ring-end warning, in the order in which they stand."""
    out = work_out(edited((PEGS, f"ring_pegs_deg = [{', '.join(pegs_deg)}]"), *also), draws=draws)
    return [
        (found[1], warning.certain)
        for warning in warnings(out)
        if (found := re.search(r"^Ring end .* over the (.*?) port", warning.message))
    ]


@pytest.mark.parametrize(
    ("peg", "expected"),
    [
        ("0", [("exhaust", True)]),
        ("355", [("exhaust", True)]),
        ("30", [("exhaust", True)]),
        ("36", [("exhaust", False)]),  # 3.8° inside
        ("46", [("exhaust", False)]),  # 6.2° outside, and 8.5° from the main transfer
        ("104", []),  # between main and rear transfer: 8.5° and 8.3° from them
        ("75", [("main transfer", True)]),
        ("285", [("main transfer", True)]),  # its mirror image
        ("{ value = 36, plus_minus = 0.5 }", [("exhaust", False)]),  # the port's own ± 5° is left
    ],
)
def test_a_ring_end_over_a_port(peg: str, expected: list[tuple[str, bool]]) -> None:
    assert ring_ends(peg) == expected


@pytest.mark.parametrize(
    ("peg", "expected"), [("39.3", [("exhaust", True)]), ("39.8", [("exhaust", False)]), ("40.3", [])]
)
def test_a_closely_measured_ring_end_and_port_are_told_apart(peg: str, expected: list[tuple[str, bool]]) -> None:
    """asin(32.0 / 50.00) = 39.79°; its ± 0.23° comes from the chord, that of peg and port is 0.1°."""
    exact = ('role = "exhaust"\nclock_deg = 0\n', 'role = "exhaust"\nclock_deg = { value = 0, plus_minus = 0.1 }\n')
    for where in (peg, str(360.0 - float(peg))):
        assert ring_ends(f"{{ value = {where}, plus_minus = 0.1 }}", also=(exact,)) == expected


def test_each_ring_end_is_counted() -> None:
    assert ring_ends("0", "75") == [("exhaust", True), ("main transfer", True)]
    assert warnings(work_out(edited((PEGS, "ring_pegs_deg = [0, 75]")), draws=0))[-1].message.startswith("Ring end 2")


def test_a_ring_reaches_lower_than_the_crown_only_by_its_own_place() -> None:
    """The intake's roof is 55.0 - 0.62 - 50.001 = 4.38 mm below the crown at bottom dead centre."""
    (warning,) = of("ports.intake.half_angle_deg", edited((PEGS, "ring_pegs_deg = [180]")))
    assert warning.message.startswith(
        "Ring end 1 at 180° may pass over the intake port, if its ring sits more than 4.38 ±"
    )
    assert not warning.certain


@pytest.mark.parametrize(
    ("pin_mm", "reached"), [("4.3", False), ("4.5", True)], ids=["pin above the roof", "pin below the roof"]
)
def test_no_ring_sits_below_the_gudgeon_pin(pin_mm: str, reached: bool) -> None:
    """The pin is given higher than a piston has it, and the accepted least of 5 mm; both roofs 0.7 mm lower."""
    pin = ("compression_height_mm = { value = 31.0", f"compression_height_mm = {{ value = {float(pin_mm) + 0.7}")
    lower = ("roof_from_deck_mm = 55.0", "roof_from_deck_mm = 55.7")
    assert bool(ring_ends("180", also=(pin, lower))) is reached


def test_an_intake_roof_that_the_crown_uncovers_is_passed_for_certain() -> None:
    assert ring_ends("180", also=(("roof_from_deck_mm = 55.0", "roof_from_deck_mm = 49.5"),)) == [("intake", True)]


# --- measured twice --------------------------------------------------------------------------------------------------


def depth_of_duration_mm(opens_deg: float, closes_deg: float) -> float:
    """Depth that the piston is below for so long, by the slider-crank: stroke 50, rod 100, offset 0.5 mm."""
    throw, rod, offset = 25.0, 100.0, 0.5
    top = sqrt((rod + throw) ** 2 - offset**2)

    def depth(after_top_deg: float) -> float:
        phi = asin(offset / (rod + throw)) + after_top_deg * pi / 180.0
        return top - throw * cos(phi) - sqrt(rod**2 - (throw * sin(phi) - offset) ** 2)

    duration = closes_deg - opens_deg
    down = brentq(lambda down: depth(down) - depth(down + duration), 60.0, 120.0, xtol=1e-12)
    return depth(down)


@pytest.mark.parametrize(("opens", "closes", "word"), [(97.5, 266.5, "less"), (87.5, 276.5, "more")])
def test_two_readings_that_do_not_agree(opens: float, closes: float, word: str) -> None:
    record = edited(
        (EXHAUST_ON_THE_WHEEL, f"roof_opens_deg_atdc = {opens}\nroof_closes_deg_atdc = {closes}\n"),
    )
    (warning,) = of("ports.exhaust.roof_depth_mm.from_deck", record)
    roof = depth_of_duration_mm(opens, closes) + 0.2  # the crown's chamfer
    said = re.search(r"is ([\d.]+) mm (more|less) than .*; their \+/- explains ([\d.]+) mm\.$", warning.message)
    assert said is not None
    assert float(said[1]) == pytest.approx(abs(29.1 - 0.62 - roof), abs=1e-4)
    assert said[2] == word
    assert 0.2 < float(said[3]) < 0.5
    assert warning.message.startswith("Exhaust: roof below the crown at top dead centre: measured twice, and")
    assert warning.certain


def test_readings_that_agree_are_no_warning() -> None:
    assert [a.agree for a in card_of(KART).out.agreements] == [True] * 6
    assert not [warning for warning in card_of(KART).warnings if "measured twice" in warning.message]


def test_without_plus_minus_nothing_is_said_about_agreement() -> None:
    record = edited((EXHAUST_ON_THE_WHEEL, "roof_opens_deg_atdc = 97.5\nroof_closes_deg_atdc = 266.5\n"))
    assert not [warning for warning in warnings(work_out(record, draws=0)) if "measured twice" in warning.message]


# --- at the edge of the possible ------------------------------------------------------------------------------------


def reached_by_some() -> EngineRecord:
    """An exhaust roof 50.6 - 0.62 = 49.98 mm below the crown at top dead centre, with 50.00 mm of stroke."""
    return exhaust_roof(
        50.6, ("floor_from_deck_mm = 50.5\n", "floor_from_deck_mm = 52\n"), ("crown_chamfer_mm = 0.2", "")
    )


def share_said(out: WorkedOut, name: str) -> float | None:
    for warning in warnings(out):
        if warning.about == name and (found := re.search(r"not for ([\d.]+) % of the engines", warning.message)):
            assert not warning.certain
            return float(found[1])
    return None


def test_a_number_that_not_every_engine_within_the_plus_minus_has() -> None:
    """The crown reaches the roof at bottom dead centre in some draws only: the others have no opening angle."""
    out = work_out(reached_by_some(), draws=DRAWS)
    opens = out.samples["exhaust_open_depth_mm"][1:] <= out.samples["true_stroke_mm"][1:]
    assert 0 < opens.sum() < DRAWS
    said = share_said(out, "exhaust_opens_deg_atdc")
    assert said == pytest.approx(100.0 * (1.0 - opens.mean()), abs=0.051)
    assert share_said(out, "transfer_opens_deg_atdc") is None
