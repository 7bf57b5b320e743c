"""One measured number: its value, its +/-, the instrument, and what was typed.

Also the description that every field of the record carries (unit, accepted range, how to measure it, the usual
instrument) and the default +/- of instruments. What a number *means* stands with its field in the other files.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    GetJsonSchemaHandler,
    ValidationInfo,
    field_validator,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError

COVERAGE_FACTOR = 2.0
"""A +/- in scribeline covers about 95 %: two standard uncertainties (coverage factor of jcgm-100, 6.2 and 6.3.3)."""

# Default +/- by instrument and unit, for about 95 % of readings by a careful amateur. All of it is judgement, no
# source; a builder who knows the instrument better writes plus_minus beside the value.
INSTRUMENTS: Mapping[str, Mapping[str, float]] = {
    "caliper": {"mm": 0.05},
    "caliper in the bore": {"mm": 0.15},
    "depth gauge": {"mm": 0.05},
    "micrometer": {"mm": 0.01},
    "bore gauge": {"mm": 0.01},
    "feeler gauge": {"mm": 0.02},
    "ruler": {"mm": 0.5},
    "tape": {"mm": 3.0},
    "solder and caliper": {"mm": 0.05},
    "degree wheel": {"deg": 1.0},
    "protractor": {"deg": 1.0},
    "judged by eye": {"mm": 1.0, "deg": 5.0, "cc": 10.0, "mm2": 20.0},
    "rubbing": {"mm": 0.3, "mm2": 5.0},
    "burette": {"cc": 0.2},
    "measuring jug": {"cc": 5.0},
    "timing light": {"deg": 1.5},
    "kitchen scales": {"g": 2.0},
    "bathroom scales": {"kg": 1.0},
    "counted": {"ratio": 0.0},
    "tachometer": {"rpm": 100.0},
    "maker's figure": {"mm": 0.02, "cc": 0.5, "deg": 0.5, "g": 2.0, "kg": 1.0, "rpm": 200.0, "ratio": 0.0},
    "estimate": {"mm": 0.5, "cc": 15.0, "ratio": 0.02, "m2": 0.1, "kg": 5.0, "deg": 3.0, "rpm": 300.0},
    "chosen": {"deg": 0.0, "rpm": 0.0, "ratio": 0.0, "mm": 0.0},
}


@dataclass(frozen=True)
class Spec:
    """What a field of the record accepts and how a builder gets at it.

    low, high : accepted range in `unit`, both ends included
    how : one line, how to measure it
    instrument : the usual instrument, whose default +/- is taken where none is given
    """

    unit: str
    low: float
    high: float
    how: str
    instrument: str

    @property
    def accepted(self) -> str:
        return f"{self.low:g} to {self.high:g}" + (f" {self.unit}" if self.unit != "ratio" else "")


class Measured(BaseModel):
    """A number as measured. In a file it is a plain number or a table:

    ``bore_mm = 50.02`` or ``bore_mm = { value = 50.02, plus_minus = 0.02, with = "bore gauge" }``
    """

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid", populate_by_name=True, allow_inf_nan=False)

    value: float
    plus_minus: float | None = Field(default=None, ge=0)
    instrument: str | None = Field(default=None, alias="with")
    typed: str | None = None

    @model_validator(mode="before")
    @classmethod
    def _plain_number(cls, data: Any) -> Any:
        if isinstance(data, bool):
            raise PydanticCustomError("not_a_number", "a number is needed, not true or false")
        if isinstance(data, int | float):
            return {"value": data}
        if isinstance(data, str):
            raise PydanticCustomError("not_a_number", "a number is needed, written without quotation marks")
        return data

    @field_validator("instrument")
    @classmethod
    def _known(cls, name: str | None) -> str | None:
        if name is not None and name not in INSTRUMENTS:
            raise PydanticCustomError(
                "unknown_instrument", "one of: {names}", {"names": ", ".join(sorted(INSTRUMENTS))}
            )
        return name

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return {"anyOf": [{"type": "number"}, handler(core)]}

    def resolved_plus_minus(self, spec: Spec) -> float:
        """The +/- to work with: as given, else the default of its instrument, else of the field's usual one."""
        if self.plus_minus is not None:
            return self.plus_minus
        by_unit = INSTRUMENTS[self.instrument or spec.instrument]
        if spec.unit in by_unit:
            return by_unit[spec.unit]
        return INSTRUMENTS[spec.instrument][spec.unit]


def given(
    unit: str, low: float, high: float, how: str, instrument: str, *, needed: bool = False, many: bool = False
) -> Any:
    """Declare a measured field: what it accepts, how it is measured, with what; `many` for a list of numbers."""
    if unit not in INSTRUMENTS[instrument]:
        raise ValueError(f"{instrument} has no default +/- in {unit}")
    extra = {"unit": unit, "low": low, "high": high, "how": how, "instrument": instrument}
    default = ... if needed else () if many else None
    return Field(default, description=how, json_schema_extra=extra)  # type: ignore[arg-type]


class Part(BaseModel):
    """Base of every part of the record: frozen, strict, unknown keys refused, measured values in range."""

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid", allow_inf_nan=False)

    @classmethod
    @cache
    def spec(cls, field: str) -> Spec | None:
        """The description of a measured field, or None for a field of another kind."""
        extra = cls.model_fields[field].json_schema_extra
        if isinstance(extra, dict) and "how" in extra:
            return Spec(**extra)  # type: ignore[arg-type]
        return None

    @field_validator("*", mode="after")
    @classmethod
    def _in_range(cls, value: Any, info: ValidationInfo) -> Any:
        spec = cls.spec(info.field_name) if info.field_name else None
        if spec is None:
            return value
        for one in value if isinstance(value, tuple) else (value,):
            if isinstance(one, Measured) and not spec.low <= one.value <= spec.high:
                raise PydanticCustomError(
                    "out_of_range",
                    "{accepted}",
                    {"accepted": spec.accepted, "value": one.value, "remedy": f"measure again: {spec.how}"},
                )
        return value


@dataclass(frozen=True)
class Reading:
    """One measured number of a record with its dotted place, for whoever goes through all of them."""

    place: str
    measured: Measured
    spec: Spec

    @property
    def plus_minus(self) -> float:
        return self.measured.resolved_plus_minus(self.spec)

    @property
    def plus_minus_is_assumed(self) -> bool:
        return self.measured.plus_minus is None and self.plus_minus > 0


def readings(part: Part, place: str = "") -> Iterator[Reading]:
    """Every measured number below `part`, in the order of the record.

    Parts in a list are placed by their name where they have one, else by their number counted from 1:
    ``ports.exhaust.roof_from_deck_mm``, ``gaskets.base.1.nominal_mm``.
    """
    for field in type(part).model_fields:
        value = getattr(part, field)
        here = f"{place}.{field}" if place else field
        spec = part.spec(field)
        for suffix, one in _members(value):
            if isinstance(one, Measured) and spec is not None:
                yield Reading(here + suffix, one, spec)
            elif isinstance(one, Part):
                yield from readings(one, here + suffix)


def _members(value: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(value, tuple):
        for number, one in enumerate(value, start=1):
            yield f".{getattr(one, 'name', None) or number}", one
    else:
        yield "", value
