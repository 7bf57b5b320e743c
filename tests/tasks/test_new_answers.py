import re
from typing import Any

import pytest

from scribeline.engine import Spec
from scribeline.errors import TypedValueError
from scribeline.tasks import new_answers as answers
from scribeline.tasks.new_answers import Kind

BORE = answers.measured_kind(Spec("mm", 10, 200, "across the bore", "bore gauge"))
VOLUME = answers.measured_kind(Spec("cc", 0.2, 500, "from a burette", "burette"))
ANGLE = answers.measured_kind(Spec("deg", 0, 360, "on the wheel", "degree wheel"))
EFFICIENCY = answers.measured_kind(Spec("ratio", 0.5, 1.0, "share that arrives", "estimate"))
RATIO = answers.measured_kind(Spec("ratio", 0.2, 30, "teeth over teeth", "counted"))
SPEED = answers.number_kind("rpm", 100, 30000)
CHOICE = answers.choice_kind(["exhaust", "auxiliary exhaust", "transfer", "secondary transfer"])
WAYS = answers.choices_kind(["a_mm", "b_mm", "c_deg"], ["from the deck", "from the crown", "degree wheel"])

# 1 27/32 in = 59/32 * 25.4 mm = 46.83125 mm; 0.02 in = 0.508 mm; 3 cu in = 3 * 2.54^3 cc = 49.161192 cc.
READ: list[tuple[Kind, str, Any]] = [
    (BORE, "50", 50.0),
    (BORE, "50.02", 50.02),
    (BORE, "50.02 mm", 50.02),
    (BORE, "50.02mm", 50.02),
    (BORE, "50.02 ± 0.02", {"value": 50.02, "plus_minus": 0.02}),
    (BORE, "50.02 +/- 0.02 mm", {"value": 50.02, "plus_minus": 0.02}),
    (BORE, "50.02 +- 0", {"value": 50.02, "plus_minus": 0.0}),
    (BORE, "50,02", {"value": 50.02, "typed": "50,02"}),
    (BORE, "5.002 cm", {"value": 50.02, "typed": "5.002 cm"}),
    (BORE, "1 27/32 in", {"value": 46.83125, "typed": "1 27/32 in"}),
    (BORE, '1 27/32"', {"value": 46.83125, "typed": '1 27/32"'}),
    (BORE, "2 in ± 0.02 in", {"value": 50.8, "plus_minus": 0.508, "typed": "2 in ± 0.02 in"}),
    (BORE, "50.02 ± 0,02", {"value": 50.02, "plus_minus": 0.02, "typed": "50.02 ± 0,02"}),
    (VOLUME, "10.6 cc", 10.6),
    (VOLUME, "10.6 ml", {"value": 10.6, "typed": "10.6 ml"}),
    (VOLUME, "3 cu in", {"value": 49.161192, "typed": "3 cu in"}),
    (ANGLE, "95.5", 95.5),
    (ANGLE, "95½°", {"value": 95.5, "typed": "95½°"}),
    (ANGLE, "95°30'", {"value": 95.5, "typed": "95°30'"}),
    (EFFICIENCY, "0.9", 0.9),
    (EFFICIENCY, "90 %", {"value": 0.9, "typed": "90 %"}),
    (RATIO, "7.6", 7.6),
    (RATIO, "7.6:1", {"value": 7.6, "typed": "7.6:1"}),
    (SPEED, "9500 rpm", 9500.0),
    (SPEED, "9500", 9500.0),
    (answers.number_kind("ratio"), "2,46", 2.46),
    (answers.whole_kind(), "12", 12),
    (answers.text_kind(), "Kart, 98 cc", "Kart, 98 cc"),
    (answers.point_kind(), "-6.5 38", [-6.5, 38.0]),
    (answers.point_kind(), "-6,5; 38,0", [-6.5, 38.0]),
    (answers.yes_or_no_kind(), "Y", True),
    (answers.yes_or_no_kind(), "no", False),
    (CHOICE, "1", "exhaust"),
    (CHOICE, "2", "auxiliary exhaust"),
    (CHOICE, "ex", "exhaust"),
    (CHOICE, "Transfer", "transfer"),
    (CHOICE, "s", "secondary transfer"),
    (WAYS, "3", ["c_deg"]),
    (WAYS, "1 3", ["a_mm", "c_deg"]),
    (WAYS, "3, 1 3", ["c_deg", "a_mm"]),
    (WAYS, "degree wheel", ["c_deg"]),
    (WAYS, "from the c", ["b_mm"]),
]

REFUSED: list[tuple[Kind, str, str]] = [
    (BORE, "5.02", "5.02 mm is outside the accepted range\n    accepted: 10 to 200 mm\n"),
    (BORE, "50 in", "1270 mm is outside the accepted range\n    accepted: 10 to 200 mm\n"),
    (BORE, "1,234 in", "1,234 could be"),
    (BORE, "50 cc", "cc is the unit of a volume"),
    (BORE, "fifty", "there is no number at its beginning"),
    (BORE, "1.85 ± 0.01 in", "only one of the two numbers has a unit"),
    (EFFICIENCY, "1.2", "120 % is outside the accepted range\n    accepted: 0.5 to 1\n"),
    (SPEED, "99", "99 rpm is outside the accepted range\n    accepted: 100 to 30000 rpm\n"),
    (SPEED, "9.500", "could be"),
    (answers.whole_kind(), "1.5", "it is not a whole number"),
    (answers.whole_kind(), "-1", "it is not a whole number"),
    (answers.whole_kind(), "9" * 5000, "it is not a whole number"),
    (answers.point_kind(), "-6.5", "it is not two numbers"),
    (answers.point_kind(), "1 2 3", "it is not two numbers"),
    (answers.yes_or_no_kind(), "maybe", "it is neither yes nor no"),
    (CHOICE, "0", "it is none of these"),
    (CHOICE, "5", "it is none of these"),
    (CHOICE, "1 2", "only one can be true"),
    (CHOICE, "9999999", "it is none of these"),
    (CHOICE, "boost", "it is none of these"),
    (CHOICE, ",", "it is none of these"),
    (WAYS, "from", "it could be from the deck or from the crown"),
    (WAYS, "1 4", "it is none of these"),
]


@pytest.mark.parametrize(("kind", "typed", "value"), READ, ids=[typed for _, typed, _ in READ])
def test_what_is_typed_is_read(kind: Kind, typed: str, value: Any) -> None:
    read = kind.read(typed)
    assert read == value
    assert type(read) is type(value)


@pytest.mark.parametrize(("kind", "typed", "why"), REFUSED, ids=[typed[:20] for _, typed, _ in REFUSED])
def test_what_is_refused_says_why_and_what_to_do(kind: Kind, typed: str, why: str) -> None:
    with pytest.raises(TypedValueError, match=re.escape(why)) as caught:
        kind.read(typed)
    assert str(caught.value).startswith(f"“{typed[:60]}")
    assert "\n    accepted: " in str(caught.value)
    assert "\n    what to do: " in str(caught.value)


def test_what_was_understood_is_echoed_where_it_was_converted() -> None:
    assert BORE.echo(BORE.read("50.02")) == ""
    assert BORE.echo(BORE.read("1 27/32 in")) == "46.831 ± 0.010 mm"
    assert BORE.echo(BORE.read("2 in ± 0.02 in")) == "50.80 ± 0.51 mm"
    assert EFFICIENCY.echo(EFFICIENCY.read("90 %")) == "90.0 % ± 2.0 %"
    assert CHOICE.echo("auxiliary exhaust") == "auxiliary exhaust"
    assert WAYS.echo(["c_deg", "a_mm"]) == "degree wheel, from the deck"


def test_what_is_accepted_names_range_unit_and_the_usual_plus_minus() -> None:
    assert BORE.accepts == "10 to 200 mm; ± 0.01 mm unless you type another (bore gauge)"
    assert ANGLE.accepts == "0 to 360 deg; ± 1° unless you type another (degree wheel)"
    assert RATIO.accepts == "0.2 to 30; exact unless you type a +/- (counted)"
    assert SPEED.accepts == "100 to 30000 rpm"
    assert CHOICE.accepts == "1 exhaust, 2 auxiliary exhaust, 3 transfer, 4 secondary transfer"
    assert "1 27/32 in" in BORE.more
    assert "50.02 ± 0.01" in BORE.more
