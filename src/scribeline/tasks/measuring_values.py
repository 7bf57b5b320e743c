"""What is typed or tapped at a field of the Measure page, and what stands there then.

What was typed is kept as typed (``typed``), the value beside it in the record's unit; choosing another instrument or
+/- keeps both. Lengths may be typed and stepped in inches: a number without a unit is then taken for inches.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, get_origin

from scribeline.engine import INSTRUMENTS
from scribeline.tasks import new_fields as fields
from scribeline.tasks.measuring_fields import Instrument, MeasuringField, field_at, instruments_for
from scribeline.tasks.new_answers import refusal, unit_to_read
from scribeline.units import MM_PER_INCH, Units, as_meant, length, read_plus_minus, show, show_in

_PLUS_MINUS = re.compile(r"±|\+/-|\+-")
MINUS = "\N{MINUS SIGN}"
_INCH_STEP = 0.0005  # a step of an instrument in inches is a whole number of these


@dataclass(frozen=True)
class Shown:
    """How a field stands: text for the input, the value in words beside it, instrument and +/-.

    usual : whether the +/- is the instrument's usual one, not the builder's own
    """

    text: str = ""
    also: str = ""
    instrument: str = ""
    plus_minus: str = ""
    usual: bool = True


def judge_typed(path: str, text: str, unit: Units = "mm", *, before: Any = None) -> Any:
    """The value that a typed text puts at a place of the record; None for an empty text: the place is cleared.

    unit : how a length without a unit is meant; before : what stands there, whose instrument and +/- are kept

    Raises TypedValueError with the accepted range where it cannot be that; KeyError for a path that is no field.

    >>> judge_typed("record.cylinder.bore_mm", "1 27/32 in", before={"value": 46.0, "with": "caliper"})
    {'value': 46.83125, 'typed': '1 27/32 in', 'with': 'caliper'}
    """
    model, name = field_at(path)
    text = text.strip()
    if not text:
        return None
    inner, many = fields.inside(model, name)
    if many:
        return [fields.kind_of(model, name).read(one) for one in _split(text, get_origin(inner) is tuple)]
    spec = model.spec(name)
    if spec is not None:
        text = as_meant(text, spec.unit, unit)
    value = fields.kind_of(model, name).read(text)
    if spec is None:
        return value
    kept = {key: one for key, one in _table(before).items() if key in ("with", "plus_minus")}
    new = _table(value)
    return _tidy({**new, **{key: one for key, one in kept.items() if key not in new}})


def with_instrument(path: str, before: Any, instrument: str) -> Any:
    """The same value, measured with another instrument; a +/- of the builder's own goes, as it was the other one's."""
    model, name = field_at(path)
    spec = model.spec(name)
    if spec is None or spec.unit not in INSTRUMENTS.get(instrument, {}):
        accepted = ", ".join(one.name for one in instruments_for(spec)) if spec else "nothing: it is not measured"
        raise refusal(instrument, "it gives no such number", accepted, "choose one of these")
    table = {key: one for key, one in _table(before).items() if key not in ("plus_minus", "with")}
    return _tidy({**table, "with": instrument})


def with_plus_minus(path: str, before: Any, text: str, unit: Units = "mm") -> Any:
    """The same value with a +/- of the builder's own; with an empty text, with the instrument's usual one again."""
    model, name = field_at(path)
    spec = model.spec(name)
    if spec is None:
        raise refusal(text, "this is not measured", "nothing", "leave it out")
    table = {key: one for key, one in _table(before).items() if key != "plus_minus"}
    if not text.strip():
        return _tidy(table)
    bare = _PLUS_MINUS.sub("", text).strip()
    return {**table, "plus_minus": read_plus_minus(as_meant(bare, spec.unit, unit), unit_to_read(spec))}


def stepped(field: MeasuringField, before: Any, steps: int, unit: Units = "mm") -> Any:
    """The value so many of its instrument's smallest steps further, never out of the accepted range.

    Where nothing stands yet it begins at the nearest end of the range to zero.
    """
    model, name = field_at(field.path)
    spec = model.spec(name)
    if spec is None:
        count = int(before if isinstance(before, int | float) else field.default or 0) + steps
        return max(count, 1)
    step = step_of(field, before)
    table = _table(before)
    start = table.get("value")
    at = min(max(0.0, spec.low), spec.high) if not isinstance(start, int | float) else float(start)
    inches = field.is_length and unit == "inch"
    if inches:
        step_in = max(_INCH_STEP, round(step / float(MM_PER_INCH) / _INCH_STEP) * _INCH_STEP)
        typed = f"{_whole(at / float(MM_PER_INCH), step_in, steps):.4f} in"
        return judge_typed(field.path, _clamped_inches(typed, spec.low, spec.high), "inch", before=before)
    value = min(max(_whole(at, step, steps), spec.low), spec.high)
    return _tidy({key: one for key, one in {**table, "value": value}.items() if key != "typed"})


def step_of(field: MeasuringField, before: Any) -> float:
    """The smallest step of the instrument in use, in the field's unit."""
    name = _table(before).get("with")
    chosen = next((one for one in field.instruments if one.name == name), None) or field.instruments[0]
    return chosen.step


def step_words(field: MeasuringField, before: Any, steps: int, unit: Units = "mm") -> str:
    """How far so many steps are, with their sign: "+ 0.05 mm"."""
    if field.kind != "measured":
        return f"{'+' if steps > 0 else MINUS} {abs(steps)}"
    size, name = step_of(field, before), field.unit
    if field.is_length and unit == "inch":
        size, name = max(_INCH_STEP, round(size / float(MM_PER_INCH) / _INCH_STEP) * _INCH_STEP), "in"
    return f"{'+' if steps > 0 else MINUS} {show(round(abs(steps) * size, 6), name)}"


def instrument_words(field: MeasuringField, instrument: Instrument, unit: Units = "mm") -> str:
    """An instrument with its usual +/-: "micrometer ± 0.01 mm"."""
    if not instrument.plus_minus:
        return f"{instrument.name}, exact"
    if field.is_length and unit == "inch":
        return f"{instrument.name} ± {length(instrument.plus_minus, unit)}"
    return f"{instrument.name} ± {instrument.plus_minus:g} {field.unit}"


def words_of(field: MeasuringField, value: Any, group: str = "") -> str:
    """What a builder reads of an edit beside undo, such as "exhaust: roof from deck 29.1 mm"."""
    seen = shown(field, value)
    what = (
        seen.text
        if field.kind != "measured" or not seen.text or _table(value).get("typed")
        else f"{seen.text} {field.unit}"
    )
    return f"{f'{group}: ' if group else ''}{field.label} {' '.join(what.split())[:60] or 'cleared'}".strip()


def shown(field: MeasuringField, value: Any, unit: Units = "mm") -> Shown:
    """How what stands at a field is shown, in the builder's units; what was typed stays as typed."""
    if value is None:
        return Shown()
    if field.kind != "measured":
        return Shown(_plain_text(field, value))
    table = _table(value)
    number, typed = table.get("value"), table.get("typed")
    if not isinstance(number, int | float) or isinstance(number, bool):
        return Shown(str(typed or value))
    instrument = str(table.get("with") or field.instruments[0].name)
    usual = next(
        (one.plus_minus for one in field.instruments if one.name == instrument), field.instruments[0].plus_minus
    )
    own = table.get("plus_minus")
    width = float(own) if isinstance(own, int | float) else usual
    inches = field.is_length and unit == "inch"
    text = str(typed) if typed else _digits(number / float(MM_PER_INCH), 4) if inches else _digits(number, 6)
    also = show_in(number, field.unit, width or None, unit)
    spread = f"± {show_in(width, field.unit, units=unit)}" if width else "exact"
    return Shown(text, also, instrument, spread, own is None)


def cleared_at(record: Mapping[str, Any], path: str) -> str:
    """The path to take away so that clearing a field leaves no empty table: the field's own, or the part around it.

    Positions of lists stay: an element that is emptied is still there, until it is removed.

    >>> cleared_at({"squish": {"solder_diameter_mm": 2}}, "record.squish.solder_diameter_mm")
    'record.squish'
    """
    keys = path.split(".")
    while len(keys) > 2:
        holder: Any = {"record": record}
        for key in keys[:-1]:
            holder = holder[int(key)] if isinstance(holder, list) else holder.get(key, {})
        if not isinstance(holder, dict) or len(holder) > 1 or keys[-2].isdigit():
            break
        keys.pop()
    return ".".join(keys)


def _table(value: Any) -> dict[str, Any]:
    if isinstance(value, Mapping):
        return dict(value)
    return {} if value is None else {"value": value}


def _tidy(table: dict[str, Any]) -> Any:
    """A bare number where there is nothing but the value."""
    return table["value"] if set(table) == {"value"} else table


def _split(text: str, points: bool) -> list[str]:
    """Several answers: a semicolon or a line end between them; between bare numbers a blank is enough."""
    parts = [one.strip() for one in re.split(r"[;\n]", text) if one.strip()]
    if not points and len(parts) == 1 and re.fullmatch(r"[-+0-9. ]+", parts[0]):
        return parts[0].split()
    return parts


def _clamped_inches(typed: str, low_mm: float, high_mm: float) -> str:
    number = float(typed.split()[0])
    low = math.ceil(low_mm / float(MM_PER_INCH) * 1e4) / 1e4
    high = math.floor(high_mm / float(MM_PER_INCH) * 1e4) / 1e4
    return f"{min(max(number, low), high):.4f} in"


def _whole(at: float, step: float, steps: int) -> float:
    """The nearest whole number of steps, so many further; a value between two steps goes to its neighbour first."""
    places = at / step
    whole = (
        round(places) if abs(places - round(places)) < 1e-6 else math.floor(places) if steps > 0 else math.ceil(places)
    )
    return round((whole + steps) * step, 6)


def _digits(value: float, most: int) -> str:
    text = f"{value:.{most}f}".rstrip("0").rstrip(".")
    return text if text not in ("", "-0") else "0"


def _plain_text(field: MeasuringField, value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list) and field.kind == "points":
        return "\n".join(" ".join(_digits(float(x), 4) for x in point) for point in value if isinstance(point, list))
    if isinstance(value, list):
        return "; ".join(str(_table(one).get("typed") or _number_text(_table(one).get("value"))) for one in value)
    return _number_text(value)


def _number_text(value: Any) -> str:
    return _digits(float(value), 6) if isinstance(value, int | float) and not isinstance(value, bool) else str(value)
