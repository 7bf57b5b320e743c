import re

from scribeline.tasks.curve import COLUMNS
from scribeline.tasks.curve_text import WIDTH, curve_text
from tests.examples import REED
from tests.tasks.curves import curve_of, half_failed


def test_the_table_holds_every_number_under_its_heading():
    curve = curve_of()
    text = curve_text(curve)
    for point in curve.points:
        row = next(line for line in text.splitlines() if line.startswith(f"{point.speed_rpm:>6g} "))
        numbers = re.findall(r"-?[\d.]+", row)[1:]
        assert numbers == [f"{c.of(point):.{c.digits}f}" for c in COLUMNS]
    units = next(line for line in text.splitlines() if line.startswith("   rpm"))
    assert [units.index(unit) for unit in ("kW", "Nm", "bar")] == sorted(units.index(u) for u in ("kW", "Nm", "bar"))


def test_it_says_what_limits_what_it_assumes_and_what_to_beware_of():
    curve = curve_of()
    text = " ".join(curve_text(curve).split())
    for said in (
        *(p.limit for p in curve.points),
        *(one.reason for one in curve.build.taken),
        *curve.build.left_out,
        *curve.remarks,
        *(c.text for c in curve.cautions),
    ):
        assert " ".join(said.split()) in text
    assert "3 of 3 speeds settle: by" in text
    assert "INVENTED" in text


def test_only_the_table_is_wider_than_the_page():
    body = curve_text(curve_of()).split("WHAT LIMITS")[1]
    assert max(len(line) for line in body.splitlines()) <= WIDTH


def test_a_speed_without_a_result_is_not_hidden():
    text = curve_text(half_failed())
    assert re.search(r"^ 31000  no result", text, re.M)
    assert "1 of 2 speeds settle: by" in text
    assert text.count("500 to 30000") == 2


def test_two_engines_beside_each_other():
    mine, theirs = curve_of(), curve_of(REED)
    text = curve_text(mine, theirs)
    less = (mine.points[0].got.power_w - theirs.points[0].got.power_w) / 1e3
    assert f"{less:+.2f}" in text.split("AGAINST Reed 125")[1].splitlines()[2]
