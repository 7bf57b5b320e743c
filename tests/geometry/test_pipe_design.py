"""The first shape against the published rules, and the arithmetic of a pipe's parts."""

import doctest
import math
from dataclasses import replace
from itertools import pairwise

import pytest

from scribeline.errors import GeometryError
from scribeline.geometry import pipe_design
from scribeline.geometry.cones import frustum_pattern
from scribeline.geometry.pipe_design import (
    LEAST_BELLY_MM,
    Mounting,
    PipeLimits,
    first_shape,
    mounting_of,
    refused,
    sections_of,
    tuned_length_of,
    with_room,
)
from scribeline.geometry.pipe_pieces import PipeSection
from tests.examples import KART, REED, edited
from tests.reference.checks import Check, assert_close, each, load

FILE = "03_time_area_and_pipe_rules"
AT = Mounting(175.0, 45.0, True, 34.0)
ROOMY = first_shape(AT, 7000.0)


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(pipe_design).failed == 0


def angle(section: PipeSection) -> float:
    return float(frustum_pattern(section.start_mm, section.end_mm, section.length_mm).included_angle_deg)


@each(FILE, "pipe-diffuser-rule")
def test_the_diffuser_has_the_published_taper_and_area_ratio(check: Check) -> None:
    sections = {one.name: one for one in ROOMY.sections()}
    diffuser = sections["diffuser"]
    ratio = diffuser.end_mm / diffuser.start_mm
    got = {
        "included_taper_deg": angle(diffuser),
        "diameter_ratio": ratio,
        "area_ratio": ratio**2,
        "upper_taper_deg": PipeLimits().diffuser_deg[1],
        "lower_taper_deg": PipeLimits().diffuser_deg[0],
        "outlet_for_1p5in_inlet_in": 1.5 * ratio,
    }
    assert_close(check, got, judged_rtol=1e-9)


def test_baffle_and_stinger_have_the_published_proportions() -> None:
    baffle, stinger = ROOMY.sections()[-2:]
    rules = load(FILE)
    assert angle(baffle) == pytest.approx(rules["pipe-baffle-rule"].expected["included_angle_deg"])
    rule = rules["pipe-stinger-rule"].expected
    assert stinger.start_mm / 34.0 == pytest.approx(rule["diameter_ratio_high"])  # start large
    assert stinger.length_mm / stinger.start_mm == pytest.approx(rule["length_in_stinger_diameters"])


@each(FILE, "pipe-tuned-length-172-9000", "pipe-tuned-length-165-7500")
def test_the_middle_of_the_baffle_lies_at_the_published_length(check: Check) -> None:
    i = check.inputs
    shape = first_shape(replace(AT, duration_deg=i["exhaust_duration_deg"]), i["rpm"])
    length = tuned_length_of(AT.passage_mm, shape.sections())
    assert length == pytest.approx(check.expected["length_mm"], rel=1e-9)


@pytest.mark.parametrize("diffusers", [1, 2])
@pytest.mark.parametrize("rpm", [6000.0, 9000.0, 12500.0])
def test_sections_meet_and_add_up(rpm: float, diffusers: int) -> None:
    shape = first_shape(AT, rpm, diffusers=diffusers)
    for sections in (shape.sections(), shape.rounded()):
        assert all(before.end_mm == after.start_mm for before, after in pairwise(sections))
        assert all(one.length_mm > 0.0 for one in sections)
    rounded = shape.rounded()
    assert all(one.length_mm == round(one.length_mm) for one in rounded)
    assert all((2.0 * one.end_mm).is_integer() for one in rounded[:-2])
    assert rounded[-1].end_mm == pytest.approx(0.62 * 34.0, abs=0.05)
    assert tuned_length_of(45.0, rounded) == pytest.approx(shape.tuned_length_mm, abs=3.0)
    assert len(rounded) == 4 + diffusers


def test_two_diffusers_open_wider_the_further_they_are() -> None:
    first, second = first_shape(AT, 9000.0, diffusers=2).sections()[1:3]
    assert angle(first) / angle(second) == pytest.approx(0.75 / 1.25)
    assert first.end_mm / first.start_mm == pytest.approx(second.end_mm / second.start_mm)
    assert angle(second) <= PipeLimits().diffuser_deg[1] + 1e-9


def test_where_the_tuned_length_is_short_first_the_header_gives_way_then_the_belly() -> None:
    short = with_room(replace(ROOMY, tuned_length_mm=ROOMY.tuned_length_mm - ROOMY.belly_length_mm - 60.0))
    assert short.belly_mm == ROOMY.belly_mm
    assert short.header_length_mm < ROOMY.header_length_mm
    shorter = with_room(replace(ROOMY, tuned_length_mm=480.0))
    assert shorter.belly_mm < ROOMY.belly_mm
    assert shorter.belly_length_mm >= LEAST_BELLY_MM
    assert with_room(ROOMY) == ROOMY


def test_a_bent_header_is_never_shorter_than_its_bend() -> None:
    bent = first_shape(Mounting(175.0, 45.0, True, 34.0, 110.0, 75.0), 12000.0)
    assert bent.header_length_mm >= math.radians(110.0) * 75.0 - 1e-9


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        (PipeLimits(longest_mm=600.0), "at most 600 mm fit"),
        (PipeLimits(widest_mm=45.0), "too little for a wave to turn back from"),
    ],
)
def test_what_does_not_fit_is_refused_with_the_reason(limits: PipeLimits, words: str) -> None:
    with pytest.raises(GeometryError, match=words) as refusal:
        first_shape(AT, 9000.0, limits)
    assert "what to do" in str(refusal.value)


def test_a_search_may_begin_from_a_shorter_pipe_where_the_room_is_short() -> None:
    limits = PipeLimits(longest_mm=1080.0)
    with pytest.raises(GeometryError, match="at most 1080 mm fit"):
        first_shape(AT, 9000.0, limits)
    shape = first_shape(AT, 9000.0, limits, shorten=True)
    assert refused(shape, limits) == ""
    assert 0.75 < shape.tuned_length_mm / first_shape(AT, 9000.0).tuned_length_mm < 1.0
    with pytest.raises(GeometryError, match="at most 600 mm fit"):
        first_shape(AT, 9000.0, PipeLimits(longest_mm=600.0), shorten=True)


@pytest.mark.parametrize(
    ("changes", "limits", "words"),
    [
        ({"header_length_mm": 20.0}, PipeLimits(), "the header is 20 mm long"),
        ({}, PipeLimits(widest_mm=95.0), "wider than 95 mm inside"),
        ({"diffuser_taper_deg": 12.0}, PipeLimits(), "a diffuser of 12.0°"),
        ({"baffle_taper_deg": 35.0}, PipeLimits(), "a baffle of 35.0°"),
        ({"stinger_mm": 15.0}, PipeLimits(stinger_mm=(18.0, 22.0)), "a stinger of Ø15.0 mm"),
        ({"tuned_length_mm": 500.0}, PipeLimits(), "are left for the belly"),
    ],
)
def test_every_limit_is_held(changes: dict[str, float], limits: PipeLimits, words: str) -> None:
    assert refused(ROOMY, PipeLimits()) == ""
    assert words in refused(replace(ROOMY, **changes), limits)


def test_the_kart_is_read_as_measured() -> None:
    """240 + 255 + 110 + half of 195, and the passage of 45 mm."""
    sections = sections_of(edited(name=KART))
    assert tuned_length_of(45.0, sections) == 45.0 + 240.0 + 255.0 + 110.0 + 97.5
    assert sections[0] == PipeSection("header", 240.0, 34.0, 38.0, 80.0, 70.0)


def test_a_baffle_of_two_cones_counts_as_one() -> None:
    pipe = [
        PipeSection("diffuser", 400.0, 34.0, 90.0),
        PipeSection("baffle 1", 100.0, 90.0, 60.0),
        PipeSection("baffle 2", 80.0, 60.0, 22.0),
        PipeSection("stinger", 200.0, 22.0, 22.0),
        PipeSection("reducer", 50.0, 22.0, 20.0),
    ]
    assert tuned_length_of(0.0, pipe) == 400.0 + 90.0


def test_a_pipe_without_a_baffle_has_no_tuned_length() -> None:
    assert tuned_length_of(45.0, [PipeSection("megaphone", 300.0, 34.0, 60.0)]) is None


def test_what_a_record_gives_a_new_pipe() -> None:
    kart = mounting_of(edited(name=KART), 175.0)
    assert (kart.passage_mm, kart.passage_known, kart.header_mm) == (45.0, True, 34.0)
    assert (kart.bend_deg, kart.bend_radius_mm) == (80.0, 70.0)
    assert mounting_of(edited(name=REED), 190.0, 40.0).header_mm == 40.0


def test_without_a_pipe_the_exit_of_the_port_gives_the_header() -> None:
    record = edited().model_copy(update={"exhaust": None})
    assert mounting_of(record, 175.0).header_mm == pytest.approx(math.sqrt(800.0 * 4.0 / math.pi))
    bare = edited(("exit_area_mm2 = 800\n", ""), ("passage_length_mm = 45\n", "")).model_copy(update={"exhaust": None})
    with pytest.raises(GeometryError, match="exit area"):
        mounting_of(bare, 175.0)
    assert not mounting_of(bare, 175.0, 34.0).passage_known
    with pytest.raises(GeometryError, match="exhaust duration"):
        mounting_of(bare, None)
