import tomllib

from hypothesis import HealthCheck, given, settings

from scribeline.engine import EngineRecord, Measured, read_record, write_record
from scribeline.engine.bottom_end import Crank, Cylinder
from scribeline.engine.salvage import validated
from tests.engine.samples import SOUND, line_with, parts


@settings(deadline=None, max_examples=50, suppress_health_check=list(HealthCheck))
@given(parts(EngineRecord))
def test_whatever_is_written_reads_back_equal(record: EngineRecord) -> None:
    """Also for engines that cannot be: only the checks of `possible` are left out of the reading here."""
    assert validated(tomllib.loads(write_record(record))) == record
    assert validated(tomllib.loads(write_record(record, comments=False))) == record


def test_a_sound_record_reads_back_equal() -> None:
    record = read_record(SOUND)
    assert read_record(write_record(record)) == record


def test_what_is_at_its_default_is_not_written() -> None:
    crank = Crank(stroke_mm=Measured(value=50.0), rod_length_mm=Measured(value=100.0))
    cylinder = Cylinder(bore_mm=Measured(value=50.0))
    text = write_record(
        EngineRecord(scribeline_record=1, name="x", speed_rpm=9000.0, crank=crank, cylinder=cylinder), comments=False
    )
    assert tomllib.loads(text) == {
        "scribeline_record": 1,
        "name": "x",
        "speed_rpm": 9000.0,
        "crank": {"stroke_mm": 50.0, "rod_length_mm": 100.0},
        "cylinder": {"bore_mm": 50.0},
    }


def test_a_measured_value_is_bare_unless_more_is_known_of_it() -> None:
    bore = '{ value = 50.00625, plus_minus = 0.02, with = "bore gauge", typed = "1 31/32 in" }'
    text = write_record(read_record(SOUND.replace("bore_mm = 50.0", f"bore_mm = {bore}")))
    data = tomllib.loads(text)
    assert data["cylinder"]["bore_mm"] == tomllib.loads(f"bore_mm = {bore}")["bore_mm"]
    assert data["crank"]["stroke_mm"] == 50.0


def test_each_comment_stands_right_above_its_value() -> None:
    """Also where a table of its own stands between, as a reed block does inside the intake."""
    reed = (
        "carburettor_bore_mm = 24\nairbox_cc = 900\nreed = { petals = 4, petal_length_mm = 30, petal_width_mm = 20, "
        'petal_thickness_mm = 0.4, material = "steel", block_area_mm2 = 500 }\n'
    )
    text = write_record(read_record(SOUND.replace('control = "piston port"', 'control = "reed"\n' + reed)))
    comment = line_with(text, "# at its narrowest, throttle open")
    assert text.split("\n")[comment] == "carburettor_bore_mm = 24.0"
    comment = line_with(text, "# one petal, away from the edge")
    assert text.split("\n")[comment] == "petal_thickness_mm = 0.4"
    assert "#" not in write_record(read_record(SOUND), comments=False)
