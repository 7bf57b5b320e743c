"""Every row of docs/reference/typed-values.md, conversions against scipy.constants, and generated input.

The numbers in the tables were worked out by hand from the definitions (25.4 mm, 0.45359237 kg), not by the code.
"""

import doctest
import itertools
import math
import re
import string
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from scipy import constants

from scribeline import units
from scribeline.errors import TypedValueError
from scribeline.sources import SOURCES
from scribeline.units import read_measured, read_plus_minus, read_quantity, show

PAGE = Path(__file__).parents[1] / "docs" / "reference" / "typed-values.md"
unhurried = settings(deadline=None, max_examples=60)
thorough = settings(deadline=None, max_examples=1000)


def tables() -> dict[tuple[str, ...], list[tuple[str, list[str]]]]:
    """The page's tables by their column names: (section, cells) for each row, backticks taken off."""
    found: dict[tuple[str, ...], list[tuple[str, list[str]]]] = {}
    section, header = "", None
    for line in PAGE.read_text(encoding="utf-8").splitlines():
        if line.startswith("## "):
            section = line[3:]
        if not line.startswith("|"):
            header = None
            continue
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if header is None:
            header = tuple(cells)
        elif not set("".join(cells)) <= {"-"}:
            found.setdefault(header, []).append((section, [cell.removeprefix("`").removesuffix("`") for cell in cells]))
    return found


TABLES = tables()
READ = TABLES[("typed", "wanted", "read as", "last digit", "why")]
REFUSED = TABLES[("typed", "wanted", "it says", "why it is not read")]
MEASURED = TABLES[("typed", "wanted", "read as", "+/-", "why")]
PLUS_MINUS = TABLES[("typed", "wanted", "+/-", "why")]
WANTED = sorted(units._KINDS)
SPELLINGS = TABLES[("wanted", "spellings", "size of one")]
SHOWN = TABLES[("value", "+/-", "unit", "shown")]


def number_or_none(cell: str) -> float | None:
    return None if cell == "none" else float(cell)


def row_name(cell: str | list[str]) -> str:
    return " ".join(cell[:2]) if isinstance(cell, list) else ""


def close(expected: float | None) -> object:
    return None if expected is None else pytest.approx(expected, rel=1e-14, abs=0)


def mark(section: str) -> str:
    return "," if "comma" in section else "."


def refused(text: str, unit: str = "mm", read: Callable[..., object] = read_quantity, **options: str) -> str:
    """The refusal of `text`, after checking that it has all that a refusal must have."""
    with pytest.raises(TypedValueError) as caught:
        read(text, unit, **options)
    assert caught.value.__suppress_context__  # the message is all there is to see
    assert caught.value.__cause__ is None
    first, *rest = str(caught.value).split("\n    ")
    assert " is refused: " in first
    assert rest[0].startswith("accepted: a")
    assert ", such as " in rest[0]
    assert rest[1].startswith("what to do: ")
    assert len(rest) == 2
    return str(caught.value)


def test_the_page_has_every_table_and_no_other() -> None:
    lines = [line for line in PAGE.read_text(encoding="utf-8").splitlines() if line.startswith("|")]
    rows = [line for line in lines if not line.startswith(("|---", "| typed |", "| wanted |", "| value |"))]
    assert len(TABLES) == 6
    assert sum(map(len, TABLES.values())) == len(rows)
    assert len(READ) > 100
    assert len(REFUSED) > 120


@pytest.mark.parametrize(("section", "row"), READ, ids=row_name)
def test_a_form_that_is_read(section: str, row: list[str]) -> None:
    typed, unit, value, resolution, _ = row
    got = read_quantity(typed, unit, decimal=mark(section))
    assert got.value == close(float(value))
    assert got.resolution == close(number_or_none(resolution))
    assert got.typed == typed


@pytest.mark.parametrize(("section", "row"), REFUSED, ids=row_name)
def test_a_form_that_is_refused(section: str, row: list[str]) -> None:
    typed, unit, says, _ = row
    read = {"A value with its +/-": read_measured, "A +/- on its own": read_plus_minus}.get(section, read_quantity)
    message = refused(typed, unit, read, decimal=mark(section))
    assert says in message.splitlines()[0]
    assert typed.strip()[:60] in message.splitlines()[0]


@pytest.mark.parametrize(("section", "row"), MEASURED, ids=row_name)
def test_a_value_with_its_plus_minus(section: str, row: list[str]) -> None:
    typed, unit, value, plus_minus, _ = row
    assert read_measured(typed, unit) == (close(float(value)), close(number_or_none(plus_minus)), typed)


@pytest.mark.parametrize(("section", "row"), PLUS_MINUS, ids=row_name)
def test_a_plus_minus_on_its_own(section: str, row: list[str]) -> None:
    typed, unit, plus_minus, _ = row
    assert read_plus_minus(typed, unit) == close(float(plus_minus))


@pytest.mark.parametrize(("section", "row"), SHOWN, ids=row_name)
def test_how_a_number_is_shown(section: str, row: list[str]) -> None:
    value, plus_minus, unit, shown = row
    assert show(float(value), unit, number_or_none(plus_minus)) == shown


def test_the_page_lists_every_spelling_of_every_unit_and_its_size() -> None:
    listed = {}
    for _, (wanted, spellings, size) in SPELLINGS:
        listed |= {(wanted, spelling): float(size) for spelling in spellings.split("` `")}
    kinds = {wanted: units._KINDS[wanted] for wanted in WANTED if wanted not in ("m2", "g")}  # as mm2 and kg
    known = {(wanted, spelling) for wanted, kind in kinds.items() for spelling in kind.units}
    assert set(listed) == known
    for (wanted, spelling), size in listed.items():
        if (wanted, spelling) in (("mm", "'"), ("deg", "'"), ("deg", '"')):  # never alone
            before = {("mm", "'"): "{}'0\"", ("deg", "'"): "0°{}'", ("deg", '"'): "0°0'{}\""}[wanted, spelling]
            assert read_quantity(before.format(1), wanted).value == close(size)
        else:
            assert read_quantity(f"1{spelling if spelling != '1/min' else ' 1/min'}", wanted).value == close(size)
            capitals = spelling if "µ" in spelling else spelling.upper()  # a capital µ is a Greek M: refused
            assert read_quantity(f"1 {capitals}", wanted).value == close(size)


SPACES = {"no-break": "\u00a0", "thin": "\u2009", "narrow no-break": "\u202f", "figure": "\u2007", "tab": "\t"}


@pytest.mark.parametrize("space", SPACES.values(), ids=SPACES)
def test_every_kind_of_space_before_a_unit_is_read_and_inside_a_number_is_refused(space: str) -> None:
    assert read_quantity(f"{space}47.02{space}mm{space}", "mm").value == 47.02
    assert read_quantity(f"1{space}27/32{space}in", "mm").value == 46.83125
    assert "two numbers" in refused(f"1{space}234")
    assert read_measured(f"50.02{space}±{space}0.02", "mm")[:2] == (50.02, 0.02)


@pytest.mark.parametrize("blank", ["", " ", "\n", "\u00a0", "\t \u2009"])
def test_nothing_typed_is_refused(blank: str) -> None:
    for read in (read_quantity, read_measured, read_plus_minus):
        assert "no number" in refused(blank, "mm", read)


@pytest.mark.parametrize("hidden", ["\u200b", "\ufeff", "\u200e", "\x00", "\n", "\u3000", "\ud800"])
def test_what_cannot_be_seen_is_named_in_the_refusal(hidden: str) -> None:
    assert f"<U+{ord(hidden):04X}>" in refused(f"4{hidden}7")
    assert hidden not in refused(f"4{hidden}7").replace("\n    ", "")


def test_spaces_and_line_ends_around_the_text_do_not_count_as_typed() -> None:
    assert read_quantity("  47.02 mm\n", "mm").typed == "47.02 mm"
    assert read_measured(" 47 ± 1\n", "mm").typed == "47 ± 1"


def test_a_long_text_is_shown_cut_and_marked_so() -> None:
    message = refused("9" * 5000, "mm")
    assert "9" * 60 + "…”" in message
    assert len(message) < 300
    assert read_quantity("9" * 60, "mm").value == close(1e60)


def test_a_unit_the_record_does_not_have_is_a_programming_error() -> None:
    for read in (read_quantity, read_measured, read_plus_minus):
        with pytest.raises(KeyError):
            read("47", "furlong")  # type: ignore[operator]


@pytest.mark.parametrize(("value", "plus_minus"), [(math.nan, 1), (math.inf, 1), (1, math.nan), (1, math.inf), (1, -1)])
def test_what_is_no_number_is_not_shown(value: float, plus_minus: float) -> None:
    with pytest.raises(ValueError, match="cannot show"):
        show(value, "mm", plus_minus)


def test_sources_named_in_the_code_are_in_the_bibliography() -> None:
    named = set(re.findall(r"\b(?:yard-and-pound-1959|jcgm-\d+)\b", Path(units.__file__).read_text(encoding="utf-8")))
    assert named == {"yard-and-pound-1959", "jcgm-100"}
    assert named <= set(SOURCES)


def test_the_examples_in_the_docstrings_are_true() -> None:
    assert doctest.testmod(units) == doctest.TestResults(failed=0, attempted=12)


# One spelling of each unit that is not a power of ten away, with its size by scipy.constants (SI).
SIZES = {
    ("in", "mm"): constants.inch / constants.milli,
    ("thou", "mm"): constants.mil / constants.milli,
    ("ft", "mm"): constants.foot / constants.milli,
    ("µm", "mm"): constants.micron / constants.milli,
    ("cm", "mm"): constants.centi / constants.milli,
    ("m", "mm"): 1 / constants.milli,
    ("sq in", "mm2"): constants.inch**2 / constants.milli**2,
    ("sq in", "m2"): constants.inch**2,
    ("cm2", "mm2"): constants.centi**2 / constants.milli**2,
    ("mm2", "m2"): constants.milli**2,
    ("cu in", "cc"): constants.inch**3 / constants.centi**3,
    ("ml", "cc"): constants.liter * constants.milli / constants.centi**3,
    ("mm3", "cc"): constants.milli**3 / constants.centi**3,
    ("°", "deg"): 1.0,
    ("lb", "kg"): constants.pound,
    ("lb", "g"): constants.pound / constants.gram,
    ("oz", "g"): constants.ounce / constants.gram,
    ("oz", "kg"): constants.ounce,
    ("kg", "g"): 1 / constants.gram,
    ("1/min", "rpm"): 1.0,
    ("m/s", "km/h"): 1 / constants.kmh,
    ("mph", "km/h"): constants.mph / constants.kmh,
    ("kn", "km/h"): constants.knot / constants.kmh,
    ("sec", "s"): 1.0,
    ("ms", "s"): constants.milli,
    (":1", "ratio"): 1.0,
    ("%", "share"): constants.centi,
}
decimals = st.decimals(min_value=0, max_value=99999, places=4).map(lambda d: f"{d.normalize():f}")


def looks_like_thousands(text: str) -> bool:
    return re.fullmatch(r"[1-9][0-9]{0,2}[.,][0-9]{3}", text) is not None


@pytest.mark.parametrize(("spelling", "wanted"), SIZES)
@unhurried
@given(text=decimals)
def test_conversions_agree_with_scipy(spelling: str, wanted: str, text: str) -> None:
    assume(not looks_like_thousands(text))
    expected = float(text) * SIZES[spelling, wanted]
    assert read_quantity(f"{text} {spelling}", wanted).value == pytest.approx(expected, rel=5e-15, abs=0)


def test_arc_minutes_and_seconds_agree_with_scipy() -> None:
    degrees = (7 * constants.degree + 8 * constants.arcminute + 9 * constants.arcsecond) / constants.degree
    assert read_quantity("7°8'9\"", "deg").value == pytest.approx(degrees, rel=1e-14)


@pytest.mark.parametrize("wanted", WANTED)
@unhurried
@given(text=decimals, sign=st.sampled_from(["", "-", "+", "\u2212"]))
def test_a_bare_decimal_is_what_python_reads_from_it(wanted: str, text: str, sign: str) -> None:
    coarse = wanted in ("rpm", "mm2")
    expected = float(sign.replace("\u2212", "-") + text)
    if coarse and looks_like_thousands(text):
        assert "could be" in refused(sign + text, wanted)
    else:
        assert read_quantity(sign + text, wanted).value == expected
    comma = text.replace(".", ",")
    if looks_like_thousands(comma):
        assert "could be" in refused(sign + comma, wanted)
    else:
        assert read_quantity(sign + comma, wanted).value == expected


@pytest.mark.parametrize("wanted", WANTED)
@pytest.mark.parametrize("decimal", [".", ","])
@unhurried
@given(head=st.integers(1, 999), tail=st.integers(0, 999))
def test_both_ways_out_of_an_ambiguous_number_are_read(wanted: str, decimal: str, head: int, tail: int) -> None:
    other = "," if decimal == "." else "."
    message = refused(f"{head}{other}{tail:03d}", wanted, decimal=decimal)
    small, large = re.search(r"write (\S+) or (\S+), whichever you mean", message).groups()
    assert read_quantity(small, wanted, decimal=decimal).value == float(f"{head}.{tail:03d}")
    assert read_quantity(large, wanted, decimal=decimal).value == head * 1000 + tail


@unhurried
@given(whole=st.integers(0, 400), power=st.integers(1, 7), data=st.data())
def test_inch_fractions(whole: int, power: int, data: st.DataObject) -> None:
    bottom = 2**power
    top = data.draw(st.integers(1, bottom - 1))
    text = data.draw(st.sampled_from(["{w} {t}/{b} in", "{w}-{t}/{b}in", '{w} {t}/{b}"', "{w} {t}⁄{b} inch"]))
    got = read_quantity(text.format(w=whole, t=top, b=bottom), "mm")
    assert got.value == pytest.approx((whole + top / bottom) * constants.inch * 1000, rel=5e-15)
    assert got.resolution == pytest.approx(constants.inch * 1000 / bottom, rel=5e-15)


@unhurried
@given(top=st.integers(0, 300), bottom=st.integers(0, 300))
def test_a_fraction_is_read_only_as_a_part_of_a_whole_in_halves(top: int, bottom: int) -> None:
    text = f"{top}/{bottom} in"
    if bottom in (2, 4, 8, 16, 32, 64, 128) and 0 < top < bottom:
        assert read_quantity(text, "mm").value == pytest.approx(top / bottom * 25.4, rel=5e-15)
    else:
        assert "is not a part of a whole" in refused(text)


@unhurried
@given(feet=st.integers(0, 20), inches=st.integers(0, 20), pounds=st.integers(0, 300), ounces=st.integers(0, 20))
def test_feet_and_inches_pounds_and_ounces(feet: int, inches: int, pounds: int, ounces: int) -> None:
    for text in (f"{feet}' {inches} in", f"{feet}'{inches}\"", f"{feet} ft {inches} inches"):
        if inches < 12:
            expected = (feet * constants.foot + inches * constants.inch) * 1000
            assert read_quantity(text, "mm").value == pytest.approx(expected, rel=5e-15)
        else:
            assert "is not less than one unit before it" in refused(text)
    text = f"{pounds} lb {ounces} oz"
    if ounces < 16:
        expected = pounds * constants.pound + ounces * constants.ounce
        assert read_quantity(text, "kg").value == pytest.approx(expected, rel=5e-15)
    else:
        assert "is not less than one unit before it" in refused(text, "kg")


@unhurried
@given(degrees=st.integers(-360, 360), minutes=st.integers(0, 59), seconds=st.integers(0, 59))
def test_degrees_minutes_and_seconds(degrees: int, minutes: int, seconds: int) -> None:
    exact = Fraction(3600 * abs(degrees) + 60 * minutes + seconds, 3600)
    got = read_quantity(f"{degrees}° {minutes}' {seconds}\"", "deg").value
    assert got == float(-exact if degrees < 0 else exact)


CHARACTERS = (
    "0123456789" * 3 + ".,'\"°%/:+-±−– \u00a0\u2009½¼⅞⅓⁄²³^µμ″”’()_eE" + "minchftdegklbozrpsu" + "٤７４\u200b\n\ud800"
)
garbage = st.one_of(
    st.text(alphabet=CHARACTERS, max_size=12),
    st.text(max_size=8),
    st.lists(st.sampled_from(["1", "27/32", "½", "in", "mm", "'", '"', " ", ".", ",", "-", "+", "±", "%", "m2"])).map(
        "".join
    ),
)


@given(text=garbage, wanted=st.sampled_from(WANTED), decimal=st.sampled_from([".", ","]))
@thorough
@example(text="9" * 400, wanted="mm", decimal=".")
def test_anything_at_all_is_read_as_a_finite_number_or_refused(text: str, wanted: str, decimal: str) -> None:
    for read in (read_quantity, read_measured, read_plus_minus):
        try:
            got = read(text, wanted, decimal=decimal)
        except TypedValueError:
            refused(text, wanted, read, decimal=decimal)
            continue
        numbers = [got] if isinstance(got, float) else [got.value, getattr(got, "plus_minus", None)]
        assert all(math.isfinite(number) for number in numbers if number is not None)


@given(text=st.text(alphabet="0123456789., +-", max_size=7), unit=st.sampled_from(["", "mm", " mm"]))
@thorough
def test_no_digit_is_dropped(text: str, unit: str) -> None:
    """What is read from digits, marks, signs and spaces is what Python's own reader makes of all of it."""
    try:
        got = read_quantity(text + unit, "mm")
    except TypedValueError:
        return
    assert got.value == float(text.strip(" ").replace(",", "."))


@unhurried
@given(text=st.sampled_from([row[0] for _, row in READ]), junk=st.sampled_from(string.punctuation + "xyzq€中"))
def test_junk_behind_a_good_form_is_refused(text: str, junk: str) -> None:
    assume(not (junk in ".'\"%" or (junk == "/" and text.endswith("⁄"))))
    for unit in ("mm", "deg"):
        refused(f"{text}{junk}", unit)
        refused(f"{text} {junk}", unit)


@pytest.mark.parametrize("unit", WANTED)
@unhurried
@given(value=st.floats(-1e5, 1e5), spread=st.one_of(st.none(), st.floats(1e-6, 1e3)))
@example(value=0.0, spread=0.0625)  # three decimals would be read as thousands: a fourth is written, and is a nought
def test_what_is_shown_can_be_typed_back(unit: str, value: float, spread: float | None) -> None:
    text = show(value, unit, spread)
    got_value, got_spread, _ = read_measured(text, unit)
    if spread is None:
        assert got_spread is None
        assert got_value == pytest.approx(value, rel=5.1e-6, abs=5.1e-13)
    else:
        assert got_spread == pytest.approx(spread, rel=0.051)
        assert abs(got_value - value) <= 0.051 * spread + 1e-9
        digits = text.rpartition("± ")[2].rstrip(" %°abcdefghijklmnopqrstuvwxyz²³/").replace(".", "").strip("0")
        assert 1 <= len(digits) <= 2
    assert "-0 " not in f"{text} "
    assert "e" not in text.replace("deg", "")


# --- lengths for whoever reads inches ---------------------------------------------------------------------------------


@pytest.mark.parametrize("decimals", [None, 0, 1, 2, 3])
@given(mm=st.floats(-2000.0, 2000.0, allow_subnormal=False))
def test_a_length_in_inches_is_the_length_within_half_its_last_digit(mm: float, decimals: int | None) -> None:
    """Against the inch of SI as scipy has it, 0.0254 m."""
    words, unit = units.length(mm, "inch", decimals).split(" ")
    places = len(words.partition(".")[2])
    assert unit == "in"
    assert 2 <= places <= 4
    assert abs(float(words) - mm * constants.milli / constants.inch) <= 0.5 * 10.0**-places + 1e-9
    assert not words.startswith("-0.0000")


@pytest.mark.parametrize(
    ("mm", "inches"),
    [(25.4, "1.000"), (12.7, "0.500"), (3.175, "0.125"), (0.0254, "0.0010"), (0.254, "0.010"), (0.0, "0.000"),
     (0.02, "0.0008"), (-0.15, "-0.0059"), (914.4, "36.000")],
)  # fmt: skip
def test_whole_inches_fractions_and_thous_come_out_as_such(mm: float, inches: str) -> None:
    """25.4 mm are an inch, 914.4 mm a yard, by definition (yard-and-pound-1959)."""
    assert units.length_number(mm, "inch") == inches
    assert units.length_number(mm) == f"{mm:.2f}"


def test_two_readings_two_hundredths_apart_are_told_apart_in_inches() -> None:
    """0.02 mm is what a caliper shows and a builder files to."""
    seen = [units.length_number(0.02 * i, "inch") for i in range(5, 2000)]
    assert sum(a == b for a, b in itertools.pairwise(seen)) < 0.25 * len(seen)
    assert all(a != b for a, b in zip(seen, seen[2:], strict=False))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("Stop at 0.25 mm and measure.", "Stop at 0.25 mm (0.0098 in) and measure."),
        ("accepted: 10 to 200 mm", "accepted: 10 to 200 mm (0.39 to 7.87 in)"),
        ("50.00 ± 0.02 mm", "50.00 ± 0.02 mm (1.9685 ± 0.0008 in)"),
        ("a sheet of 500 x 1000 mm", "a sheet of 500 x 1000 mm (19.69 x 39.37 in)"),
        ("outer edge +0.10 mm", "outer edge +0.10 mm (+0.0039 in)"),
        ("\N{MINUS SIGN}0.40 mm", "\N{MINUS SIGN}0.40 mm (-0.016 in)"),
        ("between 4 and 5 mm, or 6 mm", "between 4 and 5 mm (0.16 and 0.20 in), or 6 mm (0.24 in)"),
    ],
)
def test_a_sentence_in_mm_says_inches_too(words: str, said: str) -> None:
    assert units.with_inches(words) == said
    assert units.with_inches(said) == said
    assert units.with_inches(words, "mm") == words


@pytest.mark.parametrize(
    "words",
    ["612 mm²", "612 mm2", "5 N/mm", "both 100 mm bars", "the 100 mm bar", "1.0 mm (0.039 in)", "in mm",
     "8500 rpm, 12 cc", "roof_from_deck_mm 29", "3mm"],
)  # fmt: skip
def test_what_is_no_length_in_mm_stays_as_it_is(words: str) -> None:
    assert units.with_inches(words) == words
    assert units.in_inches(words) in (words, "0.039 in (0.039 in)") or "(0.039 in)" in words


@pytest.mark.parametrize("typed", ["1.1", "1 31/32", "1,97", "-0.004", "½"])
def test_a_bare_length_is_meant_in_what_is_read(typed: str) -> None:
    assert read_quantity(units.as_meant(typed, "mm", "inch"), "mm") == read_quantity(f"{typed} in", "mm")
    assert units.as_meant(typed, "mm", "mm") == typed
    assert units.as_meant(typed, "deg", "inch") == typed
    for other in ("27.9 mm", "2.79 cm", '1"', "about"):
        assert units.as_meant(other, "mm", "inch") == other
