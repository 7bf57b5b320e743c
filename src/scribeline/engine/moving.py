"""A record with some of its readings moved, for whoever asks what a reading's +/- does."""

from collections.abc import Mapping
from typing import Any, TypeVar

from scribeline.engine.measured import Measured, Part

P = TypeVar("P", bound=Part)


def with_readings(part: P, values: Mapping[str, float], place: str = "") -> P:
    """The part with the readings at these places set to these values, each in the field's own unit; +/- is kept.

    values : {place as `readings` names it: value}; places that the part lacks do nothing. Nothing is judged: a value
    may lie outside what a field accepts, by the little that a +/- moves it.
    """
    return part.model_copy(update=dict(_moved(part, values, place)))


def _moved(part: Part, values: Mapping[str, float], place: str) -> Any:
    for field in type(part).model_fields:
        value = getattr(part, field)
        here = f"{place}.{field}" if place else field
        if isinstance(value, tuple):
            new = tuple(
                _one(each, values, f"{here}.{getattr(each, 'name', None) or number}")
                for number, each in enumerate(value, start=1)
            )
        else:
            new = _one(value, values, here)
        if new is not value and new != value:
            yield field, new


def _one(value: Any, values: Mapping[str, float], place: str) -> Any:
    if isinstance(value, Measured):
        return value.model_copy(update={"value": values[place]}) if place in values else value
    return with_readings(value, values, place) if isinstance(value, Part) else value
