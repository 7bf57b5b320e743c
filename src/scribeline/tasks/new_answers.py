"""How one answer typed at `scribeline new` becomes a value of an engine record, or is refused.

Each function makes a reader: text in, the value as a TOML file would have it out. Numbers and units are read by
`scribeline.units`; here the accepted range is checked. Empty answers are the business of whoever asks.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from scribeline.engine import INSTRUMENTS, Spec
from scribeline.errors import TypedValueError
from scribeline.units import RecordUnit, read_measured, read_quantity, show

Read = Callable[[str], Any]


@dataclass(frozen=True)
class Kind:
    """What kind of answer a question takes.

    read : turns typed text into a value; raises TypedValueError, whose message a builder will see
    accepts : one line, what may be typed
    more : some lines for whoever asks for more; empty where there is nothing to add
    echo : writes how a value was understood, where that is not plain from what was typed
    """

    read: Read
    accepts: str
    more: str = ""
    echo: Callable[[Any], str] = lambda value: ""


def refusal(typed: str, why: str, accepted: str, remedy: str) -> TypedValueError:
    """An answer that is refused, worded as `scribeline.units` words its own."""
    return TypedValueError(f"“{typed}” is refused: {why}\n    accepted: {accepted}\n    what to do: {remedy}")


_FORMS = {
    "mm": "50.02, 50,02, 50.02 mm, 5.002 cm, 1.969 in, 1 27/32 in",
    "cc": "10.6, 10,6 cc, 10.6 ml, 0.647 cu in",
    "deg": "95, 95.5°, 95½°, 95°30'",
    "mm2": "612.5, 6.125 cm2",
    "g": "148, 0.148 kg, 5 oz",
    "kg": "152, 335 lb",
    "rpm": "9500, 9500 rpm",
    "m2": "0.45, 0.45 m2",
    "share": "0.95, 95 %",
    "ratio": "7.6, 7.6:1",
}


def measured_kind(spec: Spec) -> Kind:
    """A measured number: bare in the record's unit, else a table that also keeps the +/- and what was typed.

    >>> measured_kind(Spec("mm", 10, 200, "across the bore", "bore gauge")).read("1 27/32 in")
    {'value': 46.83125, 'typed': '1 27/32 in'}
    """
    unit = unit_to_read(spec)
    usual = INSTRUMENTS[spec.instrument][spec.unit]
    usually = f"± {show(usual, unit)} unless you type another" if usual else "exact unless you type a +/-"

    def read(text: str) -> Any:
        value, plus_minus, typed = read_measured(text, unit)
        if not spec.low <= value <= spec.high:
            why = f"{show(value, unit)} is outside the accepted range"
            raise refusal(typed, why, spec.accepted, f"measure again: {spec.how}")
        kept = {"value": value}
        if plus_minus is not None:
            kept["plus_minus"] = plus_minus
        if not all(_is_simply(part, spec.unit) for part in re.split(r"±|\+/-|\+-", typed)):
            return {**kept, "typed": typed}
        return kept if plus_minus is not None else value

    def echo(kept: Any) -> str:
        if not isinstance(kept, dict):
            return ""
        return show(kept["value"], unit, kept.get("plus_minus", usual))

    more = f"any of these is understood: {_FORMS[unit]}; with its own +/-: {_FORMS[unit].split(',')[0]} ± {usual:g}"
    return Kind(read, f"{spec.accepted}; {usually} ({spec.instrument})", more, echo)


def number_kind(unit: RecordUnit, low: float | None = None, high: float | None = None) -> Kind:
    """A number that is set and not measured, such as an engine speed."""
    accepts = "a number" + (f" in {unit}" if unit != "ratio" else "")
    if low is not None and high is not None:
        accepts = f"{low:g} to {high:g} {unit}"

    def read(text: str) -> float:
        value = read_quantity(text, unit).value
        if low is not None and high is not None and not low <= value <= high:
            raise refusal(text, f"{show(value, unit)} is outside the accepted range", accepts, "type another")
        return value

    return Kind(read, accepts, f"any of these is understood: {_FORMS[unit]}")


def whole_kind() -> Kind:
    """A count."""

    def read(text: str) -> int:
        if not re.fullmatch(r"\+?[0-9]{1,6}", text):
            raise refusal(text, "it is not a whole number", "a whole number, such as 2", "count again")
        return int(text)

    return Kind(read, "a whole number")


def text_kind() -> Kind:
    """Words; they are kept as typed."""
    return Kind(lambda text: text, "any words")


def point_kind() -> Kind:
    """A point of an outline: two lengths."""
    accepted = "two lengths in mm with a blank between them: across, then down from the deck, such as -6.5 38.0"

    def read(text: str) -> list[float]:
        halves = re.split(r"[;\s]+", text)
        if len(halves) != 2:
            raise refusal(text, "it is not two numbers", accepted, "type both, with a blank between them")
        return [read_quantity(half, "mm").value for half in halves]

    return Kind(read, accepted)


def yes_or_no_kind() -> Kind:
    """Yes or no."""
    words = {"y": True, "yes": True, "n": False, "no": False}

    def read(text: str) -> bool:
        if text.lower() not in words:
            raise refusal(text, "it is neither yes nor no", "y or n", "type one of them")
        return words[text.lower()]

    return Kind(read, "y or n")


def choice_kind(options: Sequence[str], labels: Sequence[str] = ()) -> Kind:
    """One of several: by its number or its first letters."""
    several = choices_kind(options, labels)

    def read(text: str) -> str:
        chosen: list[str] = several.read(text)
        if len(chosen) > 1:
            raise refusal(text, "only one can be true", several.accepts, "type one of them")
        return chosen[0]

    return Kind(read, several.accepts, echo=lambda chosen: several.echo([chosen]))


def choices_kind(options: Sequence[str], labels: Sequence[str] = ()) -> Kind:
    """One or more of several: by numbers with blanks between them, or by the first letters of one."""
    names = list(labels or options)
    accepts = ", ".join(f"{number} {name}" for number, name in enumerate(names, start=1))

    def read(text: str) -> list[str]:
        words = re.split(r"[\s,;]+", text.strip(" ,;"))
        if all(re.fullmatch("[0-9]{1,3}", word) for word in words):
            found = [int(word) - 1 for word in words]
        else:
            begun = [index for index, name in enumerate(names) if name.lower().startswith(text.lower())]
            found = [index for index in begun if names[index].lower() == text.lower()] or begun
            if len(found) > 1:
                raise refusal(text, f"it could be {' or '.join(names[i] for i in found)}", accepts, "type a number")
        if not found or not all(0 <= index < len(names) for index in found):
            raise refusal(text, "it is none of these", accepts, "type a number from the list, or the first letters")
        return [options[index] for index in dict.fromkeys(found)]

    return Kind(read, accepts, echo=lambda chosen: ", ".join(names[options.index(one)] for one in chosen))


def unit_to_read(spec: Spec) -> RecordUnit:
    """The unit in which an answer is read: a share where a ratio is no more than 1."""
    if spec.unit == "ratio" and spec.high <= 1:
        return "share"  # an efficiency may be typed as 95 %
    units: dict[str, RecordUnit] = {
        "mm": "mm", "mm2": "mm2", "m2": "m2", "cc": "cc", "deg": "deg", "g": "g", "kg": "kg", "rpm": "rpm",
        "ratio": "ratio",
    }  # fmt: skip
    return units[spec.unit]


def _is_simply(text: str, unit: str) -> bool:
    return re.fullmatch(rf"\s*[+-]?[0-9]+(\.[0-9]+)?\s*({re.escape(unit)})?\s*", text) is not None
