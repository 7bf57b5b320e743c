"""A photograph looked at and corrected by hand: what was found, what was moved, what goes into the record."""

import tomllib
from dataclasses import replace
from functools import cache
from math import pi
from pathlib import Path

import pytest

from scribeline.engine import read_record
from scribeline.errors import RecordError, RubbingError
from scribeline.tasks.in_hand import record_toml
from scribeline.tasks.rubbing_accept import Offer, guess, offers
from scribeline.tasks.rubbing_review import (
    BY_HAND_MM,
    OpeningShown,
    Review,
    Shape,
    area_mm2,
    corrected,
    kept_shape,
    loosened,
    review,
)
from tests.examples import KART, text_of
from tests.rubbing.kart import TRUTHS, middle_mm, on_paper, pixels, sheet
from tests.rubbing.rendering import Camera, paper_of, photograph, save

EXHAUST = TRUTHS[0]
RECORD = tomllib.loads(text_of(KART))


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> Review:
    return review(save(pixels("sideways"), tmp_path_factory.mktemp("photo") / "p.jpg"), text_of(KART), 0.1, (1.0, 1.0))


@cache
def opening(port: str = "exhaust", second: bool = False) -> OpeningShown:
    """An opening as the metal is, for what needs no photograph."""
    left = middle_mm(EXHAUST) - EXHAUST.arc_mm / 2
    edges = (left, left + EXHAUST.arc_mm, EXHAUST.roof_mm, EXHAUST.floor_mm, EXHAUST.upper_mm, EXHAUST.lower_mm)
    return OpeningShown(1, port, second, 0.0, Shape("rounded rectangle", edges), 0.1, 0.2, None, "")


def offer(*shown: OpeningShown, over: tuple[str, ...] = ()) -> Offer:
    (one,) = offers(RECORD, shown, over=over)
    return one


# --- what is seen -----------------------------------------------------------------------------------------------------


def test_every_opening_lies_where_the_metal_is_and_every_marker_is_found(seen: Review) -> None:
    assert (seen.refusal, seen.missing, seen.not_found) == ("", (), ())
    assert {one.number for one in seen.markers if one.found} == {one.number for one in sheet().markers}
    exhaust = next(one for one in seen.openings if one.port == "exhaust")
    assert exhaust.shape.edges[:4] == pytest.approx(opening().shape.edges[:4], abs=0.15)


def test_its_pictures_are_jpeg_and_its_box_reaches_from_the_deck_to_the_lower_markers(seen: Review) -> None:
    for picture in (seen.flat, seen.photo):
        assert picture.startswith("data:image/jpeg;base64,/9j/")
    assert max(seen.photo_px) == 1100
    left, top, right, bottom = seen.flat_mm
    assert right - left == pytest.approx(pi * 50.0, abs=0.2)  # once round the bore
    assert 0.0 < top < 2.0
    assert bottom > EXHAUST.floor_mm


def test_markers_that_are_not_there_are_told_with_where_they_should_be(tmp_path: Path) -> None:
    """Two of the upper row painted over, photographed straight on: they belong at thirds between their neighbours."""
    gone = tuple(one.number for one in sheet().markers[2:4])
    paper = paper_of(sheet(), [on_paper(truth) for truth in TRUTHS], without=gone)
    found = review(save(photograph(paper, Camera(2400, 1800)), tmp_path / "p.png"), text_of(KART), 0.1, (1.0, 1.0))
    assert found.missing == gone
    places = {one.number: one.corners[0][0] for one in found.markers}
    assert {one.number for one in found.markers if not one.found} == set(gone)
    before, first, second, after = (places[one.number] for one in sheet().markers[1:5])
    assert (first, second) == pytest.approx((before + (after - before) / 3, before + 2 * (after - before) / 3), abs=0.5)


def test_a_picture_with_hardly_a_marker_is_shown_with_what_to_do(tmp_path: Path) -> None:
    most = tuple(one.number for one in sheet().markers[3:])
    picture = photograph(paper_of(sheet(), [], without=most), Camera(1600, 1200, fill=0.85))
    found = review(save(picture, tmp_path / "p.png"), text_of(KART), 0.1, (1.0, 1.0))
    assert set(found.missing) == set(most)
    assert "what to do: get the whole paper into the picture" in found.refusal
    assert found.photo
    assert (found.flat, found.openings) == ("", ())


def test_what_is_no_record_is_refused_before_the_picture_is_opened(tmp_path: Path) -> None:
    with pytest.raises(RecordError):
        review(tmp_path / "none.jpg", "scribeline_record = 1", 0.1, (1.0, 1.0))


# --- what is corrected ------------------------------------------------------------------------------------------------


def test_a_moved_edge_is_kept_and_is_known_no_better_than_by_eye() -> None:
    edges = list(opening().shape.edges)
    edges[2] -= 0.4
    kept = kept_shape(Shape("rounded rectangle", tuple(edges)))
    moved = corrected(opening(), kept)
    assert moved.shape.edges[2] == pytest.approx(EXHAUST.roof_mm - 0.4, abs=1e-3)
    assert (moved.by_hand, moved.edge_mm) == (True, BY_HAND_MM)
    assert corrected(opening(), None) == opening()


def test_area_is_that_of_a_rounded_rectangle() -> None:
    """Width times height less what the corners lack: (1 - pi/4) r squared each."""
    whole = EXHAUST.arc_mm * (EXHAUST.floor_mm - EXHAUST.roof_mm)
    lacking = 2 * (1 - pi / 4) * (EXHAUST.upper_mm**2 + EXHAUST.lower_mm**2)
    assert area_mm2(opening().shape) == pytest.approx(whole - lacking, rel=2e-3)


def test_single_points_say_the_same_until_one_is_moved() -> None:
    loose = loosened(opening())
    assert loose.shape.kind == "points"
    assert 8 <= len(loose.shape.points) <= 36
    assert area_mm2(loose.shape) == pytest.approx(area_mm2(opening().shape), rel=3e-3)
    assert offer(replace(loose, by_hand=True)).document["outline_mm"]


@pytest.mark.parametrize(
    "shape",
    [
        Shape("rounded rectangle", (5.0, 4.0, 20.0, 30.0, 1.0, 1.0)),
        Shape("points", points=((0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0))),
        Shape("points", points=((0.0, 0.0), (1.0, 1.0))),
    ],
)
def test_an_outline_turned_inside_out_is_refused(shape: Shape) -> None:
    with pytest.raises(RubbingError, match="take the last change back"):
        corrected(opening(), kept_shape(shape))


# --- what is accepted -------------------------------------------------------------------------------------------------


def test_what_a_caliper_gave_stays_and_is_shown_beside_the_rubbing() -> None:
    """The kart's record has the exhaust's roof 0.5 mm lower than its metal, by caliper."""
    made = offer(opening())
    roof = made.changes[0]
    assert (roof.recorded, roof.stays, roof.agrees) == ("29.10 ± 0.10 mm", True, False)
    assert made.document["roof_from_deck_mm"]["value"] == 29.1
    assert made.document["width_arc_mm"]["value"] == pytest.approx(EXHAUST.arc_mm, abs=0.01)
    assert made.place == 0


def test_with_leave_it_is_written_over() -> None:
    made = offer(opening(), over=("exhaust",))
    assert made.document["roof_from_deck_mm"] == {"value": 28.6, "plus_minus": 0.18, "with": "rubbing"}


def test_half_a_pair_says_that_the_other_is_taken_as_the_same() -> None:
    truth = TRUTHS[1]
    left = middle_mm(truth) - truth.arc_mm / 2
    edges = (left, left + truth.arc_mm, truth.roof_mm, truth.floor_mm, truth.upper_mm, truth.lower_mm)
    one = replace(opening(), port="main transfer", shape=Shape("rounded rectangle", edges))
    assert "Only one of the pair" in offer(one).lacking
    assert offer(one, replace(one, number=2, second=True)).lacking == ""


def test_a_stranger_is_offered_once_it_is_named() -> None:
    stranger = replace(opening(""), clock_deg=300.0)
    assert offers(RECORD, [stranger]) == ()
    (made,) = offers(RECORD, [stranger], {1: ("boost", "boost")})
    assert (made.new, made.place, made.document["role"]) == (True, 4, "boost")
    assert made.document["roof_from_deck_mm"]["value"] == 28.6
    for name, role in (("exhaust", "boost"), (" ", "boost"), ("new", "window")):
        with pytest.raises(RubbingError, match="accepted"):
            offers(RECORD, [stranger], {1: (name, role)})


def test_a_doubt_is_told_until_somebody_has_corrected_it() -> None:
    doubtful = replace(opening(), doubt="its edges are only known to 0.4 mm")
    assert offer(doubtful).doubts == ("Opening 1: its edges are only known to 0.4 mm.",)
    assert offer(replace(doubtful, by_hand=True)).doubts == ()


def test_a_port_that_no_engine_can_have_is_refused() -> None:
    edges = (-17.0, 17.0, 28.0, 400.0, 5.0, 5.0)
    with pytest.raises(RecordError):
        offer(replace(opening(), shape=Shape("rounded rectangle", edges)), over=("exhaust",))


def test_names_are_guessed_only_where_the_place_decides() -> None:
    assert guess(replace(opening(""), clock_deg=355.0), ()) == ("exhaust", "exhaust")
    assert guess(replace(opening(""), clock_deg=355.0), ("exhaust",))[1] == "transfer"
    taken = ("transfer right",)
    assert guess(replace(opening(""), clock_deg=80.0), taken) == ("transfer right 2", "transfer")


def test_an_accepted_port_makes_a_sound_record() -> None:
    work = {"record": tomllib.loads(text_of(KART))}
    made = offer(opening(), over=("exhaust",))
    work["record"]["ports"][made.place] = dict(made.document)
    again = read_record(record_toml(work))
    assert again.ports[0].roof_from_deck_mm is not None
    assert again.ports[0].roof_from_deck_mm.value == 28.6
