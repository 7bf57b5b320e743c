"""What there is to measure: every field of the record once, each with what a page needs to say about it."""

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from scribeline.engine import INSTRUMENTS, EngineRecord, Part
from scribeline.engine.ports import Port
from scribeline.tasks import new_fields as fields
from scribeline.tasks.measuring_fields import RESOLUTION, MeasuringField, field_at, fields_of_measuring, instruments_for
from scribeline.tasks.measuring_pictures import NO_PICTURE, measuring_picture
from scribeline.tasks.measuring_stations import PORT_GROUPS, STATION_PLANS
from scribeline.tasks.new_wording import NOT_ASKED

DOCS = Path("docs/howto")


@pytest.fixture(scope="module")
def kart() -> dict[str, Any]:
    return tomllib.loads(Path("examples/club-kart-98.toml").read_text())


def by_path(record: dict[str, Any]) -> dict[str, MeasuringField]:
    found = [field for station in fields_of_measuring(record) for field in station.fields()]
    assert len({one.path for one in found}) == len(found)
    return {one.path: one for one in found}


def leaves(model: type[Part], place: str = "") -> list[str]:
    """Every field of the record that holds values, by its place without list positions."""
    found = []
    for name in model.model_fields:
        inner, _ = fields.inside(model, name)
        here = f"{place}.{name}" if place else name
        if (model, name) not in NOT_ASKED:
            found += leaves(inner, here) if fields.is_part(inner) else [here]
    return found


def test_every_field_of_the_record_has_one_place_in_the_stations() -> None:
    places = [one for plan in STATION_PLANS for _, some in plan.places for one in some]
    assert len(set(places)) == len(places)
    for leaf in leaves(EngineRecord):
        around = leaf.rpartition(".")[0]
        assert [one for one in places if one in (leaf, f"{around}.*")], leaf


def test_a_whole_record_shows_each_of_its_readings(kart: dict[str, Any]) -> None:
    shown = by_path(kart)
    for path, field in shown.items():
        assert field_at(path)
        assert field.label
        assert field.accepted
    for path in ("record.ports.3.floor_opens_deg_atdc", "record.squish.readings.2.gap_mm", "record.fuel.octane_ron",
                 "record.exhaust.sections.4.end_mm", "record.gaskets.head.0.compressed_mm"):  # fmt: skip
        assert path in shown
    assert shown["record.ports.0.roof_from_deck_mm"].how.startswith("barrel's top face down to")


def test_what_makes_no_sense_is_not_asked(kart: dict[str, Any]) -> None:
    assert "record.piston.deflector_volume_cc" not in by_path(kart)
    assert "record.piston.dome_height_mm" in by_path(kart)
    assert "record.intake.reed.petals" not in by_path(kart)
    changed = kart | {"intake": {"control": "reed"}, "piston": {"crown": "flat", "dome_height_mm": 2}}
    assert "record.intake.reed.petals" in by_path(changed)
    assert "record.piston.dome_height_mm" in by_path(changed)  # it is filled in: nothing typed is hidden
    assert not [path for path in by_path({}) if ".ports." in path]


def test_the_usual_instrument_comes_first_and_what_is_none_last() -> None:
    spec = Port.spec("roof_from_deck_mm")
    assert spec is not None
    found = instruments_for(spec)
    assert (found[0].name, found[0].plus_minus) == ("caliper in the bore", 0.15)
    assert {one.name for one in found} == {name for name, units in INSTRUMENTS.items() if "mm" in units}
    assert [one.name for one in found[-3:]] == ["maker's figure", "estimate", "judged by eye"]


def test_every_instrument_has_a_step_no_larger_than_its_plus_minus() -> None:
    assert {name: set(units) for name, units in RESOLUTION.items()} == {n: set(u) for n, u in INSTRUMENTS.items()}
    for name, units in INSTRUMENTS.items():
        for unit, width in units.items():
            assert 0 < RESOLUTION[name][unit] <= max(width, 0.5 if width == 0 and unit == "deg" else width or 50)


def test_each_field_is_lit_in_a_drawing_or_has_none(kart: dict[str, Any]) -> None:
    """A length on the engine is always lit; the drawing says what is lit, for those who do not see it."""
    for path, field in by_path(kart | {"piston": kart["piston"] | {"openings": [{"name": "a"}]}}).items():
        if field.picture == NO_PICTURE:
            assert not re.match(
                r"record\.(crank|cylinder\.bore_mm|piston\..*_mm|head\..*_mm|ports\..*_(mm|deg)|exhaust\..*_mm)", path
            ), path
            continue
        drawn = measuring_picture(field.picture)
        assert "<title" in drawn.svg
        if field.picture[1]:
            assert re.search(r"Lit: .+</desc>", drawn.svg)
            assert 'class="measured' in drawn.svg


def test_every_station_has_its_page_and_its_drawings() -> None:
    for plan in STATION_PLANS:
        assert not plan.howto or (DOCS / f"{plan.howto}.md").is_file()
        for name in plan.pictures:
            assert measuring_picture((name, "")).svg
    named = {name for _, names in PORT_GROUPS for name in names}
    assert named == set(Port.model_fields) - {name for model, name in NOT_ASKED if model is Port}


@pytest.mark.parametrize("path", ["record.nothing", "record.ports.0", "record.crank.stroke_mm.value", "plan.goal"])
def test_what_is_no_field_is_none(path: str) -> None:
    if path == "record.ports.0":
        assert field_at(path) == (EngineRecord, "ports")
        return
    with pytest.raises(KeyError):
        field_at(path)
