"""What changed between two records, in words."""

import tomllib
from typing import Any

from scribeline.tasks.difference_words import record_differences
from tests.examples import KART, REED, text_of


def record(*changes: tuple[str, str], name: str = KART) -> dict[str, Any]:
    text = text_of(name)
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return tomllib.loads(text)


def told(*changes: tuple[str, str]) -> list[str]:
    return [str(one) for one in record_differences(record(), record(*changes))]


def test_nothing_differs_however_it_is_written() -> None:
    assert record_differences(record(), record()) == []
    assert told(("count = 1\n", "")) == []  # one cylinder is what a record without the field means


def test_a_reading_that_changed_with_its_plus_minus_and_instrument() -> None:
    roof = 'roof_from_deck_mm = { value = 29.1, plus_minus = 0.10, with = "caliper in the bore" }'
    assert told((roof, "roof_from_deck_mm = 28.6")) == [
        "port exhaust: roof from deck: 29.10 ± 0.10 mm, caliper in the bore -> 28.6 mm (0.5 mm less)"
    ]
    assert told((roof, roof.replace("0.10", "0.05"))) == [
        "port exhaust: roof from deck: 29.10 ± 0.10 mm, caliper in the bore -> 29.100 ± 0.050 mm, caliper in the bore"
    ]


def test_what_came_and_what_went() -> None:
    sheet = 'head = [{ nominal_mm = 0.80, compressed_mm = 0.70, material = "copper" }]'
    two = sheet.replace("}]", "}, { nominal_mm = 0.3, compressed_mm = 0.27 }]")
    (came,) = told((sheet, two))
    assert came == (
        "gaskets, head gasket, sheet 2: thickness as bought 0.3 mm, thickness after tightening 0.27 mm, "
        "not there before"
    )
    (went,) = [str(one) for one in record_differences(record((sheet, two)), record())]
    assert went.endswith("not there any more")
    assert told(("dome_height_mm = 2.5\n", "")) == ["piston: dome height: 2.5 mm, not there any more"]


def test_words_angles_and_switches() -> None:
    assert told(('cooling = "air"', 'cooling = "water"')) == ["cylinder: cooling: air -> water"]
    assert told(("band_angle_deg = 9.0", "band_angle_deg = 7")) == ["head: band angle: 9° -> 7° (2° less)"]
    assert told(("invented = true", "invented = false")) == ["record: invented: yes -> no"]


def test_every_field_of_two_unlike_engines_finds_words() -> None:
    found = record_differences(record(), record(name=REED))
    assert len(found) > 80
    assert all("_" not in one.part + one.reading and "?" not in one.reading and "{" not in str(one) for one in found)
    assert "port side exhaust: role auxiliary exhaust" in "\n".join(map(str, found))


def test_lengths_are_told_in_inches_to_whoever_reads_them() -> None:
    """29.1 mm are 1.1457 in, and 0.5 mm 0.0197 in, by 25.4 mm to the inch (yard-and-pound-1959)."""
    roof = 'roof_from_deck_mm = { value = 29.1, plus_minus = 0.10, with = "caliper in the bore" }'
    changes = ((roof, "roof_from_deck_mm = 28.6"), ("speed_rpm = 9500", "speed_rpm = 9000"))
    assert [str(one) for one in record_differences(record(), record(*changes), "inch")] == [
        "record: engine speed for the card: 9500 rpm -> 9000 rpm (500 rpm less)",
        "port exhaust: roof from deck: 1.1457 ± 0.0039 in, caliper in the bore -> 1.1260 in (0.020 in less)",
    ]
