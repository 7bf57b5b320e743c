"""What people type, turned into the record's units, and lengths in words for whoever reads in millimetres or inches:
the only place where a user's unit is read, and where it is chosen what a length is written in.

The reader is strict: whatever could mean two numbers is refused, because a wrong reading ends as a line scribed in
the wrong place. Every form that is read or refused stands, with its reason, in docs/reference/typed-values.md, and
each of its rows is a test. Not here: whether a number is sensible for an engine (the record's ranges judge that).

One pattern cuts a text into parts (number, fraction, unit); the parts are added up in exact fractions and the sum is
rounded to a float once, at the end.
"""

import math
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal, NamedTuple

from scribeline.errors import TypedValueError

RecordUnit = Literal["mm", "mm2", "m2", "cc", "deg", "g", "kg", "rpm", "ratio", "share", "km/h", "s", "kg m2"]
DecimalMark = Literal[".", ","]
Units = Literal["mm", "inch"]
"""What somebody reads lengths in. Angles, areas, volumes and speeds stay metric; the record is in mm throughout."""

# Exact by definition (yard-and-pound-1959). An ounce is 1/16 lb, a mile 5280 ft.
MM_PER_INCH = Fraction("25.4")
G_PER_POUND = Fraction("453.59237")


@dataclass(frozen=True)
class Quantity:
    """One typed number.

    value : float, in the unit that was asked for
    typed : str, what the person typed, without the spaces around it
    resolution : float or None, size of the last digit or of the fraction (1/32 in), in that unit; None for a whole
        number that ends in 0, as 9000 may have been read to 1 or to 1000
    """

    value: float
    typed: str
    resolution: float | None


class Measured(NamedTuple):
    """A typed value and its +/-, both in the unit that was asked for; `plus_minus` is None where none was typed."""

    value: float
    plus_minus: float | None
    typed: str


class _Unit(NamedTuple):
    size: Fraction  # in the first unit of its table
    halved: bool  # its scales are divided into halves, quarters, eighths: fractions are read
    coarse: bool  # nobody reads it to a thousandth: 9.000 may well mean nine thousand


class _Kind(NamedTuple):
    what: str
    example: str
    units: dict[str, _Unit]
    wanted: _Unit


class _Part(NamedTuple):
    number: str  # digits and marks as typed; "" where a fraction stands alone
    fraction: str | None
    unit: str | None  # as spelled, in small letters


def _unit(spellings: str, size: Fraction | int, halved: bool = False, coarse: bool = False) -> dict[str, _Unit]:
    return dict.fromkeys(spellings.split("|"), _Unit(Fraction(size), halved, coarse))


# fmt: off
_LENGTH = (
    _unit("mm", 1) | _unit("cm", 10) | _unit("m", 1000) | _unit("µm|um", Fraction(1, 1000))
    | _unit('in|inch|inches|"', MM_PER_INCH, halved=True) | _unit("thou", MM_PER_INCH / 1000)
    | _unit("ft|foot|feet|'", 12 * MM_PER_INCH, halved=True)
)
_AREA = (_unit("mm2|mm²|mm^2", 1, coarse=True) | _unit("cm2|cm²|cm^2", 100) | _unit("m2|m²|m^2", 1_000_000)
         | _unit("in2|in²|in^2|sq in", MM_PER_INCH**2))
_VOLUME = (_unit("cc|ccm|cm3|cm³|cm^3|ml", 1) | _unit("mm3|mm³|mm^3", Fraction(1, 1000), coarse=True)
           | _unit("in3|in³|in^3|cu in", (MM_PER_INCH / 10) ** 3))
_ANGLE = _unit("°|deg|degree|degrees", 1, halved=True) | _unit("'", Fraction(1, 60)) | _unit('"', Fraction(1, 3600))
_MASS = (_unit("g", 1) | _unit("kg", 1000)
         | _unit("lb|lbs", G_PER_POUND, halved=True) | _unit("oz", G_PER_POUND / 16, halved=True))
_TURNING = _unit("rpm|1/min|min-1|min⁻¹|rev/min|r/min|u/min", 1, coarse=True)
_SPEED = (_unit("km/h|kmh|kph", 1) | _unit("m/s", Fraction("3.6")) | _unit("mph", 5280 * 12 * MM_PER_INCH / 10**6)
          | _unit("kn|kt", Fraction("1.852")))
_TIME = _unit("s|sec|seconds", 1) | _unit("ms", Fraction(1, 1000))
_INERTIA = (_unit("kg m2|kg m²|kg m^2", 1) | _unit("g m2|g m²|g m^2", Fraction(1, 1000))
            | _unit("kg cm2|kg cm²|kg cm^2", Fraction(1, 10_000)))
_RATIO = _unit(":1|: 1", 1)
_KINDS: dict[str, _Kind] = {
    "mm": _Kind("a length in mm", "47.02 mm, 47,02 or 1 27/32 in", _LENGTH, _LENGTH["mm"]),
    "mm2": _Kind("an area in mm2", "612.5 mm2", _AREA, _AREA["mm2"]),
    "m2": _Kind("an area in m2", "0.45 m2", _AREA, _AREA["m2"]),
    "cc": _Kind("a volume in cc", "11.4 cc", _VOLUME, _VOLUME["cc"]),
    "deg": _Kind("an angle in degrees", "78.5, 78½° or 78°30'", _ANGLE, _ANGLE["deg"]),
    "g": _Kind("a mass in g", "142.5 g", _MASS, _MASS["g"]),
    "kg": _Kind("a mass in kg", "74.5 kg", _MASS, _MASS["kg"]),
    "rpm": _Kind("a turning speed in rpm", "9000 rpm", _TURNING, _TURNING["rpm"]),
    "ratio": _Kind("a ratio", "12.5 or 12.5:1", _RATIO, _RATIO[":1"]),
    "share": _Kind("a share (1 is the whole)", "0.62 or 62 %", _unit("%", Fraction(1, 100)), _RATIO[":1"]),
    "s": _Kind("a time in s", "6.42 s", _TIME, _TIME["s"]),
    "kg m2": _Kind("a moment of inertia in kg m2", "0.32 kg m2 or 21 kg cm2", _INERTIA, _INERTIA["kg m2"]),
    "km/h": _Kind("a speed in km/h", "54.3 km/h", _SPEED, _SPEED["km/h"]),
}
# Characters that keyboards and phones put in place of the plain ones.
_PLAIN = str.maketrans({
    **dict.fromkeys("\t\u00a0\u2007\u2009\u202f", " "), "\u2212": "-", "⁄": "/",
    "″": '"', "”": '"', "′": "'", "’": "'", "º": "°", "˚": "°", "μ": "µ",
})
# fmt: on
_STEPS = (12, 16, 60)  # feet and inches, pounds and ounces, degrees minutes seconds: what may follow one another
_VULGAR = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_LONGEST = 60  # characters; keeps every number far inside what a float can hold
_PLUS_MINUS = re.compile(r" *(?:±|\+/-|\+-) *")
_BARE = re.compile(r"[+\-\u2212]?[0-9.,/ ¼½¾⅛⅜⅝⅞]+")
_PART = re.compile(
    r"(?:(?:(?P<whole>[0-9.,]+)(?:(?: +|-)(?=[0-9])|(?: *|-)(?=[¼½¾⅛⅜⅝⅞])))?(?P<fraction>[0-9]+/[0-9]+|[¼½¾⅛⅜⅝⅞])"
    r"|(?P<number>[0-9.,]+))"
    r" *(?P<unit>1/[A-Za-z]+|: ?1|[°'\"%]|[A-Za-zµ]+(?:[ /][A-Za-z]+)*(?:\^?[23]|[²³]|-1|⁻¹)?)? *"
)


def read_quantity(text: str, unit: RecordUnit, *, decimal: DecimalMark = ".") -> Quantity:
    """Read one typed number; without a unit it is in `unit`, otherwise it is converted to `unit`.

    text : what was typed, at most 60 characters
    unit : the unit wanted, one of the record's; anything else raises KeyError
    decimal : the mark that always is the decimal point; the other one is too, unless it could separate thousands
    Returns a Quantity in `unit`, of any sign and size: ranges are the record's to judge.
    Raises TypedValueError for everything that is not exactly one quantity of the wanted kind.

    >>> read_quantity("1 27/32 in", "mm")
    Quantity(value=46.83125, typed='1 27/32 in', resolution=0.79375)
    """
    kind = _KINDS[unit]
    with _explained(text, kind) as plain:
        value, resolution = _evaluate(*_parse(plain), kind, decimal)
    return Quantity(value, text.strip(), resolution)


def read_plus_minus(text: str, unit: RecordUnit, *, decimal: DecimalMark = ".") -> float:
    """Read a +/- on its own, with or without its sign (`±0.02`, `+/- 0.02 mm`, `0.02`).

    Returns it in `unit`; 0 is accepted, for what was counted or chosen. Otherwise as for `read_quantity`.

    >>> read_plus_minus("± 1 thou", "mm")
    0.0254
    """
    kind = _KINDS[unit]
    with _explained(text, kind) as plain:
        marked = _PLUS_MINUS.match(plain)
        return _evaluate(*_parse(plain[marked.end() :] if marked else plain, signed=False), kind, decimal)[0]


def read_measured(text: str, unit: RecordUnit, *, decimal: DecimalMark = ".") -> Measured:
    """Read a value that may carry its +/- (`50.02 ± 0.02 mm`, `50.02 +- 0.02`, `50.02`).

    Returns both in `unit`. Either both numbers have their own unit, or the only one written is the wanted unit:
    `1.85 ± 0.01 in` where mm are wanted could be 1.85 mm, and is refused. Otherwise as for `read_quantity`.

    >>> read_measured("1.85 in ± 0.01 in", "mm")
    Measured(value=46.99, plus_minus=0.254, typed='1.85 in ± 0.01 in')
    """
    kind, spread = _KINDS[unit], None
    with _explained(text, kind) as plain:
        value_text, *behind = _PLUS_MINUS.split(plain)
        if len(behind) > 1:
            raise TypedValueError("it has more than one +/-", "type one value and one +/-")
        sign, parts = _parse(value_text)
        value, _ = _evaluate(sign, parts, kind, decimal)
        if behind:
            no_sign, spread_parts = _parse(behind[0], signed=False)
            spread, _ = _evaluate(no_sign, spread_parts, kind, decimal)
            units = [part.unit for part in parts + spread_parts if part.unit]
            one_sided = bool(parts[0].unit) != bool(spread_parts[0].unit)
            if one_sided and [_look_up(each, kind).size for each in units] != [kind.wanted.size]:
                raise TypedValueError("only one of the two numbers has a unit", "write the unit after both")
    return Measured(value, spread, text.strip())


def show(value: float, unit: str, plus_minus: float | None = None) -> str:
    """Write a number for a reader, with the digits its +/- supports, a decimal point and the unit's own sign.

    The +/- gets two significant digits and the value stops at the same place (jcgm-100, 7.2.6). Without a +/-, or
    with one of 0, the digits behind the point stop at six significant ones and at the twelfth place. `unit` may be
    any unit; a share is written in percent. What this writes in one of the record's units, `read_measured` reads.
    Raises ValueError where a number is not finite or the +/- is negative.

    >>> show(50.0213, "mm", 0.018)
    '50.021 ± 0.018 mm'
    """
    spread = plus_minus or 0.0
    if not (math.isfinite(value) and math.isfinite(spread) and spread >= 0.0):
        raise ValueError(f"cannot show {value} ± {plus_minus} {unit}")
    if unit == "share":
        value, spread = 100 * value, 100 * spread
    if spread:
        digits = 1 - int(f"{spread:.1e}".partition("e")[2])
    else:
        digits = max(0, -int(Decimal(f"{round(value, 12):.6g}").normalize().as_tuple().exponent))
    if unit == "in":  # a tenth of a thou is the finest that inch instruments read; one digit of what is finer is kept
        first = -int(f"{spread or value or 1.0:.0e}".partition("e")[2])
        digits = min(digits, max(_FINEST_IN, first))
    glyph = {"deg": "°", "ratio": "", "share": " %"}.get(unit, f" {unit}".replace("2", "²").replace("3", "³"))
    rounded = [round(x, digits) + 0.0 for x in ((value, spread) if spread else (value,))]  # + 0.0: no -0.00
    if digits == 3 and unit in _KINDS and _KINDS[unit].wanted.coarse:
        digits = 4  # typed back, three decimals would be refused: they look like thousands
    numbers = [f"{x:.{max(digits, 0)}f}" for x in rounded]
    return (f"{glyph} ± " if unit in ("deg", "share") else " ± ").join(numbers) + glyph


def as_meant(text: str, unit: str, units: Units) -> str:
    """A typed text in which each bare length is given the unit that whoever reads inches means.

    >>> as_meant("1 31/32 ± 0.001", "mm", "inch"), as_meant("50 mm", "mm", "inch"), as_meant("78.5", "deg", "inch")
    ('1 31/32 in ± 0.001 in', '50 mm', '78.5')
    """
    if units == "mm" or unit != "mm":
        return text
    parts = (one.strip() for one in _PLUS_MINUS.split(text))
    return " ± ".join(f"{one} in" if _BARE.fullmatch(one) else one for one in parts)


def typed_shown(typed: object, units: Units = "mm") -> str:
    """A kept text as a field for a length shows it: as it was typed, with its unit where the field is for another.

    >>> typed_shown("0.1", "inch"), typed_shown("0.004 in"), typed_shown(None)
    ('0.1 mm', '0.004 in', '')
    """
    text = "" if typed is None else str(typed)
    return f"{text} mm" if units == "inch" and _BARE.fullmatch(text) else text


def length(mm: float, units: Units = "mm", decimals: int | None = 2, *, sign: bool = False) -> str:
    """A length for a reader of millimetres or of inches, with its unit.

    decimals : behind the point in mm, as many as needed where None. Inches get three (0.001 in is 0.025 mm), two where
        there are none in mm; one more where fewer than two digits would be left, up to the fourth; four from 0.001 mm
    sign : a plus too is written
    Source: the inch is 25.4 mm exactly (yard-and-pound-1959).

    >>> length(27.95), length(27.95, "inch"), length(0.02, "inch")
    ('27.95 mm', '1.100 in', '0.0008 in')
    """
    return f"{length_number(mm, units, decimals, sign=sign)} {unit_of(units)}"


def length_number(mm: float, units: Units = "mm", decimals: int | None = 2, *, sign: bool = False) -> str:
    """The same without its unit, for drawings and tables that name it once.

    >>> length_number(85.0, decimals=None), length_number(85.0, "inch", None), length_number(0.2, "inch")
    ('85', '3.346', '0.0079')
    """
    plus = "+" if sign else ""
    if units == "mm":
        return f"{mm:{plus}g}" if decimals is None else f"{round(mm, decimals) + 0.0:{plus}.{decimals}f}"
    inches = mm / float(MM_PER_INCH)
    places = 3 if decimals is None else {0: 2, 1: 3, 2: 3}.get(decimals, _FINEST_IN)
    while places < _FINEST_IN and 0.0 < abs(inches) < 10.0 ** (1 - places):
        places += 1
    return f"{round(inches, places) + 0.0:{plus}.{places}f}"


def unit_of(units: Units, *, spelled: bool = False) -> str:
    """The unit's sign, to be written once for several numbers; spelled : as it stands in a sentence

    >>> unit_of("inch"), unit_of("inch", spelled=True), unit_of("mm", spelled=True)
    ('in', 'inches', 'mm')
    """
    return "mm" if units == "mm" else "inches" if spelled else "in"


def show_in(value: float, unit: str, plus_minus: float | None = None, units: Units = "mm") -> str:
    """As `show`, a length in inches for whoever reads inches.

    >>> show_in(29.1, "mm", 0.1, "inch"), show_in(29.1, "cc", 0.1, "inch")
    ('1.1457 ± 0.0039 in', '29.10 ± 0.10 cc')
    """
    if units == "mm" or unit != "mm":
        return show(value, unit, plus_minus)
    per_inch = float(MM_PER_INCH)
    return show(float(f"{value / per_inch:.6g}"), "in", None if plus_minus is None else plus_minus / per_inch)


def with_inches(words: str, units: Units = "inch") -> str:
    """A sentence with every length in mm said in inches as well, behind it in brackets; as it is for mm.

    For sentences that were written without knowing who reads them: warnings, workings, refusals, instructions. A
    printed bar of 100 mm keeps its name. What already is followed by inches stays.

    >>> with_inches("The gap is 0.80 mm; practice is 0.6 to 1.0 mm.")
    'The gap is 0.80 mm (0.031 in); practice is 0.6 to 1.0 mm (0.024 to 0.039 in).'
    """
    return words if units == "mm" else _IN_MM.sub(_also_in_inches, words)


def in_inches(words: str, units: Units = "inch") -> str:
    """The same with inches in place of mm, for a heading or a cell that has no room for both.

    >>> in_inches("raise exhaust roof at exhaust: 1.2 mm"), in_inches("27.80 ± 0.10 mm")
    ('raise exhaust roof at exhaust: 0.047 in', '1.0945 ± 0.0039 in')
    """
    return words if units == "mm" else _IN_MM.sub(lambda found: f"{_said_in_inches(found, 1)} in", words)


_FINEST_IN = 4
_A_NUMBER = "[+\N{MINUS SIGN}-]?[0-9]+(?:[.][0-9]+)?"
_IN_MM = re.compile(
    rf"(?<![\w.,])(?P<first>{_A_NUMBER})(?:(?P<between> (?:±|to|and|or|x) )(?P<second>{_A_NUMBER}))? mm(?![\w²³/^])"
    r"(?! bars?\b)(?! \([^)]* in\))"
)


def _also_in_inches(found: re.Match[str]) -> str:
    return f"{found[0]} ({_said_in_inches(found)} in)"


def _said_in_inches(found: re.Match[str], least: int = 0) -> str:
    first, between, second = found["first"], found["between"], found["second"]
    if between == " ± ":
        return show_in(_plain_number(first), "mm", _plain_number(second), "inch").removesuffix(" in")
    return _inches_for(first, least) + (between + _inches_for(second, least) if second else "")


def _inches_for(number: str, least: int) -> str:
    if number == "0":
        return number
    decimals = max(least, len(number.partition(".")[2]))
    return length_number(_plain_number(number), "inch", decimals, sign=number.startswith("+"))


def _plain_number(number: str) -> float:
    return float(number.replace("\N{MINUS SIGN}", "-"))


@contextmanager
def _explained(text: str, kind: _Kind) -> Iterator[str]:
    """Hand out the text in plain characters; make of a refusal's why and remedy the message a person will see."""
    try:
        plain = text.strip().translate(_PLAIN)
        if not plain:
            raise TypedValueError("there is no number, nothing is typed", "type one number and its unit, no more")
        if len(plain) > _LONGEST:
            raise TypedValueError(f"it is longer than {_LONGEST} characters", "type one number and its unit, no more")
        yield plain
    except TypedValueError as refusal:
        why, remedy = refusal.args
        typed = text.strip()[:_LONGEST] + "…" * (len(text.strip()) > _LONGEST)
        said = "".join(c if c.isprintable() else f"<U+{ord(c):04X}>" for c in f"“{typed}” is refused: {why}")
        accepted = f"{kind.what}, such as {kind.example}"
        raise TypedValueError(f"{said}\n    accepted: {accepted}\n    what to do: {remedy}") from None


def _parse(text: str, signed: bool = True) -> tuple[int, list[_Part]]:
    """Cut the whole text into its sign and its parts (`3' 2 in` has two); anything left over is refused."""
    has_sign = text[:1] in ("+", "-")
    if has_sign and not signed:
        raise TypedValueError("a +/- has no sign of its own", "type the +/- as a plain number")
    if re.search("[0-9][eE][+-]?[0-9]", text):
        raise TypedValueError("powers of ten are not read", "write the number out in full: 0.001, not 1e-3")
    parts: list[_Part] = []
    position = int(has_sign)
    while position < len(text) or not parts:
        found = _PART.match(text, position)
        if not found:
            why = f"it is not clear what “{text[position:]}” means" if parts else "there is no number at its beginning"
            raise TypedValueError(why, "type one number in the digits 0 to 9 and its unit, no more")
        number, fraction, unit = found["whole"] or found["number"] or "", found["fraction"], found["unit"]
        parts.append(_Part(number, _VULGAR.get(fraction, fraction), unit and unit.lower()))
        position = found.end()
    if len(parts) > 1 and any(part.unit is None for part in parts):
        raise TypedValueError("two numbers stand side by side", "leave no space inside a number; give each its unit")
    return (-1 if text[0] == "-" else 1), parts


def _look_up(spelling: str, kind: _Kind) -> _Unit:
    if spelling in kind.units:
        return kind.units[spelling]
    for other in _KINDS.values():
        if spelling in other.units:
            raise TypedValueError(f"{spelling} is the unit of {other.what}", f"check the question, it is {kind.what}")
    raise TypedValueError(f"“{spelling}” is not a unit known here", f"write none, or one of: {', '.join(kind.units)}")


def _evaluate(sign: int, parts: list[_Part], kind: _Kind, mark: DecimalMark) -> tuple[float, float | None]:
    """Value and resolution of the parts together, in the wanted unit."""
    units = [_look_up(part.unit, kind) if part.unit else kind.wanted for part in parts]
    if (kind.units is _LENGTH and parts[-1].unit == "'") or (kind.units is _ANGLE and parts[0].unit in ("'", '"')):
        raise TypedValueError("a tick alone could be feet, inches or minutes", "write ft or in; for minutes 0°30'")
    total, last_digit = Fraction(0), None
    for index, (part, unit) in enumerate(zip(parts, units, strict=True)):
        number, last_digit = _number(part, unit, mark)
        total += number * unit.size
        if index and units[index - 1].size / unit.size not in _STEPS:
            raise TypedValueError("these units do not follow one another", "use one unit")
        if index and number * unit.size >= units[index - 1].size:
            raise TypedValueError(f"{part.number} {part.unit} is not less than one unit before it", "check the numbers")
        if index + 1 < len(parts) and (part.fraction or not part.number.isdigit()):
            raise TypedValueError("only the last number may have decimals or a fraction", "use one unit")
    scale = units[-1].size / kind.wanted.size
    return float(sign * total / kind.wanted.size), None if last_digit is None else float(last_digit * scale)


def _number(part: _Part, unit: _Unit, mark: DecimalMark) -> tuple[Fraction, Fraction | None]:
    """Value and size of the last digit of one part, in its own unit."""
    typed = part.number
    head, _, tail = typed.replace(",", ".").partition(".")
    if "." in tail:
        raise TypedValueError("it has more than one decimal or thousands mark", "use one decimal point and no other")
    if part.fraction:
        if not unit.halved:
            remedy = "write a decimal number, or the unit that the fraction belongs to, as in 1 27/32 in"
            raise TypedValueError("fractions go with in, ft, lb, oz and degrees only", remedy)
        if head != typed:
            raise TypedValueError("a decimal number is followed by a fraction", "use one or the other")
        numerator, denominator = map(int, part.fraction.split("/"))
        if denominator not in (2, 4, 8, 16, 32, 64, 128) or not 0 < numerator < denominator:
            remedy = "look for a missing space (1 27/32, not 127/32); write any other fraction as a decimal number"
            raise TypedValueError(f"{part.fraction} is not a part of a whole in halves, quarters ... 128ths", remedy)
        return int(head or 0) + Fraction(numerator, denominator), Fraction(1, denominator)
    if head == typed:
        return Fraction(head), None if head.endswith("0") else Fraction(1)
    if not tail:
        raise TypedValueError("a digit is missing after the decimal mark", "leave the mark out, or type the digits")
    if len(tail) == 3 and 1 <= len(head) <= 3 and head[0] != "0" and (unit.coarse or mark not in typed):
        either = f"{head}{mark}{tail}{'0' if unit.coarse else ''} or {head}{tail}"
        raise TypedValueError(f"{typed} could be {either}", f"write {either}, whichever you mean")
    return Fraction(f"{head or 0}.{tail}"), Fraction(1, 10 ** len(tail))
