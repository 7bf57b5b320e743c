"""Which opening is which port, what is written into the record, and how it is told."""

import json
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from scribeline.engine import EngineRecord, read_record, write_record
from scribeline.errors import RubbingError
from scribeline.rubbing.edges import Opening
from scribeline.rubbing.outlines import Outline, describe
from scribeline.rubbing.reading import Reading, Seen, read_rubbing
from scribeline.tasks.rubbing import Rubbing, named, with_ports
from scribeline.tasks.rubbing_files import names_of, printed, scan_marks, write_overlay, write_ports
from scribeline.tasks.rubbing_report import kept_text, overlay_svg, rubbing_json, rubbing_text
from tests.examples import KART, edited
from tests.rubbing.kart import AROUND_MM, BORE_MM, PAPER_MM, sheet, taken
from tests.rubbing.test_outlines import rounded


@cache
def reading() -> Reading:
    return read_rubbing(taken("sideways"), sheet(), bore_mm=BORE_MM, paper_mm=PAPER_MM)


def measured(record: EngineRecord) -> Rubbing:
    return Rubbing("invented.jpg", record, reading(), tuple(named(record, reading().seen)))


def kart() -> EngineRecord:
    return edited(name=KART)


def without_ports() -> EngineRecord:
    return kart().model_copy(update={"ports": ()})


def test_every_opening_is_given_to_the_port_at_its_clock_position() -> None:
    names = [(one.name, one.second) for one in measured(kart()).found]
    assert names == [
        ("rear transfer", True),
        ("main transfer", True),
        ("exhaust", False),
        ("main transfer", False),
        ("rear transfer", False),
        ("intake", False),
    ]


def test_a_record_without_ports_knows_none_of_them() -> None:
    assert [one.name for one in measured(without_ports()).found] == [None] * 6


def test_what_another_instrument_gave_stays_and_is_told() -> None:
    record, kept = with_ports(measured(kart()))
    exhaust = next(port for port in record.ports if port.name == "exhaust")
    assert exhaust.roof_from_deck_mm is not None
    assert exhaust.roof_from_deck_mm.value == 29.1
    assert exhaust.width_arc_mm is not None
    assert exhaust.width_arc_mm.value == pytest.approx(34.72, abs=0.2)
    assert exhaust.width_arc_mm.instrument == "rubbing"
    roofs = {one.place: one for one in kept}
    assert roofs["ports.exhaust.roof_from_deck_mm"].rubbed.value == pytest.approx(28.6, abs=0.15)
    assert "ports.exhaust.roof_from_deck_mm = 29.1; the rubbing has 28." in kept_text(kept)


def test_replace_writes_over() -> None:
    record, kept = with_ports(measured(kart()), replace=True)
    assert kept == ()
    exhaust = next(port for port in record.ports if port.name == "exhaust")
    assert exhaust.roof_from_deck_mm is not None
    assert exhaust.roof_from_deck_mm.value == pytest.approx(28.6, abs=0.15)


def test_a_pair_is_written_as_its_mean_with_half_its_difference_in_the_plus_minus() -> None:
    record, _ = with_ports(measured(kart()), replace=True)
    main = next(port for port in record.ports if port.name == "main transfer")
    assert main.roof_from_deck_mm is not None
    assert main.roof_from_deck_mm.value == pytest.approx((37.6 + 37.3) / 2, abs=0.15)
    assert main.roof_from_deck_mm.plus_minus is not None
    assert main.roof_from_deck_mm.plus_minus > 0.15
    assert "main transfer: the roof of opening 4 is 0.3" in rubbing_text(measured(kart()))


def test_new_ports_are_named_and_the_record_reads_back() -> None:
    names = {3: ("exhaust", "exhaust"), 4: ("right transfer", "transfer"), 2: ("left transfer", "transfer"),
             6: ("intake", "intake")}  # fmt: skip
    record, _ = with_ports(measured(without_ports()), names)
    assert [port.name for port in record.ports] == ["left transfer", "exhaust", "right transfer", "intake"]
    again = read_record(write_record(record))
    assert again.ports == record.ports
    left = again.ports[0]
    assert left.clock_deg.value == pytest.approx(285.0, abs=1.0)
    assert left.roof_from_deck_mm is not None
    assert left.roof_from_deck_mm.value == pytest.approx(37.3, abs=0.15)


@pytest.mark.parametrize(
    ("names", "words"), [({7: ("x", "exhaust")}, "1 to 6"), ({1: ("x", "window")}, "auxiliary exhaust")]
)
def test_numbers_and_roles_that_are_not_there_are_refused(names: dict[int, tuple[str, str]], words: str) -> None:
    with pytest.raises(RubbingError, match=words):
        with_ports(measured(without_ports()), names)


def seen(points: np.ndarray) -> Seen:
    opening = Opening(points, 0.02, 0.1)
    return Seen(describe(opening), opening, 0.05, 0.1)


def along(outline: Outline | object) -> np.ndarray:
    ring = outline.exterior  # type: ignore[attr-defined]
    points = np.array([ring.interpolate(float(s)).coords[0] for s in np.arange(0.0, ring.length, 0.2)])
    return points if ring.is_ccw else points[::-1]


def test_two_openings_beside_a_recorded_bridge_are_one_port() -> None:
    bridged = edited(("width_chord_mm = 32.0", "width_chord_mm = 32.0\nbridge_mm = 3.0"))
    whole = rounded([(-17, 29), (17, 29), (17, 50), (-17, 50)], 6.0)
    import shapely

    halves = [along(whole.intersection(shapely.box(*box))) for box in ((-20, 20, -1.5, 60), (1.5, 20, 20, 60))]
    (one,) = named(bridged, [seen(half) for half in halves])
    assert one.name == "exhaust"
    assert one.bridge_mm == pytest.approx(3.0, abs=0.05)
    assert one.outline.width_mm == pytest.approx(34.0, abs=0.05)
    assert one.outline.roof_radius_mm == pytest.approx(6.0, abs=0.3)
    assert len(named(kart(), [seen(half) for half in halves])) == 2


def test_an_odd_shape_is_written_as_an_outline_from_its_own_middle() -> None:
    at = 180.0 / 360.0 * AROUND_MM
    shape = rounded([(at - 9, 56), (at + 9, 56), (at + 5, 70), (at - 5, 70)], 1.8)
    record = kart()
    found = tuple(named(record, [seen(along(shape))]))
    written, _ = with_ports(Rubbing("x.jpg", record, reading(), found))
    intake = next(port for port in written.ports if port.name == "intake")
    across = [x for x, _ in intake.outline_mm]
    left, _, right, _ = shape.bounds
    assert (min(across), max(across)) == pytest.approx((left - at, right - at), abs=0.05)
    assert min(y for _, y in intake.outline_mm) == pytest.approx(56.0, abs=0.05)
    assert intake.roof_from_deck_mm is not None  # the caliper's reading stays beside it
    assert intake.roof_from_deck_mm.value == 55.0


def test_what_is_in_doubt_is_told_and_written_only_when_accepted() -> None:
    dented = along(rounded([(-16, 29), (16, 29), (16, 50), (-16, 50)], 6.0).union(
        rounded([(10, 35), (20, 35), (20, 40), (10, 40)], 0.5)))  # fmt: skip
    record = kart()
    rubbing = Rubbing("x.jpg", record, reading(), tuple(named(record, [seen(dented)])))
    assert "! IN DOUBT: its edge runs inwards" in rubbing_text(rubbing)
    assert json.loads(rubbing_json(rubbing))["openings"][0]["in_doubt"]
    assert with_ports(rubbing, replace=True)[0].ports == record.ports
    with pytest.raises(RubbingError, match="--accept 1"):
        with_ports(rubbing, {1: ("side exhaust", "auxiliary exhaust")})
    written, _ = with_ports(rubbing, replace=True, accept=[1])
    assert max(x for x, _ in next(port for port in written.ports if port.name == "exhaust").outline_mm) > 16.5
    with pytest.raises(RubbingError, match="1 to 1"):
        with_ports(rubbing, accept=[2])


def test_two_openings_for_one_port_are_both_in_doubt() -> None:
    twice = [seen(along(rounded([(x, 30), (x + 9, 30), (x + 9, 50), (x, 50)], 2.0))) for x in (-9.4, 0.4)]
    found = named(kart(), twice)
    assert [(one.name, one.doubt) for one in found] == [
        ("exhaust", "opening 2 would be the same port"), ("exhaust", "opening 1 would be the same port")]  # fmt: skip


def test_ports_that_were_not_found_arenamed() -> None:
    record = kart()
    some = Rubbing("x.jpg", record, reading(), tuple(named(record, reading().seen[1:4])))
    told = rubbing_text(some)
    assert "not found: rear transfer; what to do" in told
    assert "not found: rear transfer, its mirror image; what to do" in told
    assert "not found: exhaust" not in told
    assert "not found" not in rubbing_text(measured(record))


def test_the_report_sets_the_record_beside_it_and_says_what_to_look_at() -> None:
    told = rubbing_text(measured(kart()))
    assert "20 of 20 markers" in told
    assert "the record has roof 29.10 ± 0.10 mm: -0.5" in told
    assert "THEY DO NOT AGREE" in told
    assert "each line must run along the edge of the metal" in told


def test_json_holds_every_edge_with_its_plus_minus() -> None:
    document = json.loads(rubbing_json(measured(kart())))
    exhaust = next(one for one in document["openings"] if one["port"] == "exhaust")
    assert exhaust["edges_mm"]["roof"]["value"] == pytest.approx(28.6, abs=0.15)
    assert 0.0 < exhaust["edges_mm"]["roof"]["plus_minus"] < 0.2
    assert document["not_found"] == []


def test_the_overlay_lies_over_the_picture_at_full_size() -> None:
    svg = overlay_svg(measured(kart()))
    assert svg.index("<image ") < svg.index('<g class="measured"')
    assert svg.count("data:image/jpeg;base64,") == 1


def test_files_are_written_and_a_record_is_never_written_over(tmp_path: Path) -> None:
    write_overlay(measured(kart()), tmp_path / "overlay.png")
    assert (tmp_path / "overlay.png").read_bytes()[1:4] == b"PNG"
    write_ports(measured(kart()), tmp_path / "new.toml")
    before = (tmp_path / "new.toml").read_bytes()
    with pytest.raises(RubbingError, match="there already"):
        write_ports(measured(kart()), tmp_path / "new.toml")
    assert (tmp_path / "new.toml").read_bytes() == before


@pytest.mark.parametrize("typed", ["3", "3=boost", "x=boost:boost", "3=:boost"])
def test_a_name_that_cannot_be_read_is_refused(typed: str) -> None:
    with pytest.raises(RubbingError, match="NUMBER=NAME:ROLE"):
        names_of([typed])


def test_half_of_what_a_scan_needs_is_refused() -> None:
    assert scan_marks(None, None, None) is None
    for typed, mm in (("100", 100.0), ("4 in", 101.6), ("10 cm", 100.0)):  # 25.4 mm an inch (yard-and-pound-1959)
        marks = scan_marks("1,2,3,4", "5,6", f"7,8,9,10,{typed}")
        assert marks is not None
        assert marks.ruler == ((7.0, 8.0), (9.0, 10.0), mm)
    with pytest.raises(RubbingError, match="together"):
        scan_marks("1,2,3,4", None, None)
    with pytest.raises(RubbingError, match="4 numbers"):
        scan_marks("1,2,3", "5,6", None)


def test_bars_are_read_in_any_unit_the_sheets_take() -> None:
    assert printed("98.7 mm", "100.4") == pytest.approx((0.987, 1.004))
