"""What the record's own descriptions say of one field, for the question about it: its kind, its name in plain words.

Found through the fields' annotations, so that a field added to the record is asked for without a line here.
"""

import re
from functools import cache
from inspect import cleandoc
from typing import Any, Literal, get_args, get_origin

from scribeline.engine import Part
from scribeline.tasks import new_answers as answer
from scribeline.tasks import new_wording as wording
from scribeline.units import RecordUnit


@cache
def about(model: type[Part]) -> str:
    """What the part of the record says of itself."""
    return cleandoc(model.__doc__ or "")


@cache
def label_of(model: type[Part], name: str) -> str:
    """A field's name in plain words: the table's, else its own without the unit."""
    if (model, name) in wording.LABELS:
        return wording.LABELS[model, name]
    return _in_words(name).removesuffix("s" if inside(model, name)[1] else "")


def without_keys(words: str) -> str:
    """A sentence about a record file for whoever sees no file: its keys said as the fields are called.

    >>> without_keys("width_chord_mm or width_arc_mm")
    'width straight across or width along the bore'
    """
    labels = {name: label for (_, name), label in wording.LABELS.items()}
    return _A_KEY.sub(lambda found: labels.get(found[0]) or _in_words(found[0]), words)


_UNITS = ("mm", "mm2", "m2", "cc", "deg", "g", "kg", "rpm", "atdc")
_A_KEY = re.compile(rf"\b[a-z]+(?:_[a-z0-9]+)*_(?:{'|'.join(_UNITS)})\b")


def _in_words(name: str) -> str:
    words = name.split("_")
    while len(words) > 1 and words[-1] in _UNITS:
        words.pop()
    return " ".join(word.upper() if word in ("tdc", "bdc") else word for word in words)


def title_of(model: type[Part]) -> str:
    """A part's name in plain words: RotaryDisc is a rotary disc."""
    return re.sub("(?<=[a-z])(?=[A-Z])", " ", model.__name__).lower()


@cache
def kind_of(model: type[Part], name: str) -> answer.Kind:
    """What may be answered where a field, or one element of it, is asked for."""
    spec = model.spec(name)
    if spec is not None:
        return answer.measured_kind(spec)
    inner, _ = inside(model, name)
    if get_origin(inner) is Literal:
        return answer.choice_kind(get_args(inner))
    if get_origin(inner) is tuple:
        return answer.point_kind()
    plain = {
        float: lambda: answer.number_kind(_unit(name), *_limits(model, name)),
        int: answer.whole_kind,
        bool: answer.yes_or_no_kind,
        str: answer.text_kind,
    }
    return plain[inner]()


def _unit(name: str) -> RecordUnit:
    units: dict[str, RecordUnit] = {"mm": "mm", "deg": "deg", "rpm": "rpm"}
    return units.get(name.split("_")[-1], "ratio")


def _limits(model: type[Part], name: str) -> tuple[float | None, float | None]:
    extra = model.model_fields[name].json_schema_extra
    limits: dict[str, Any] = dict(extra) if isinstance(extra, dict) else {}
    return limits.get("minimum"), limits.get("maximum")


def as_typed(default: Any) -> str:
    """A default as it would be typed."""
    return ("no", "yes")[default] if isinstance(default, bool) else str(default)


@cache
def inside(model: type[Part], name: str) -> tuple[Any, bool]:
    """What a field holds, without `| None`; and whether it holds a list of them."""
    annotation: Any = model.model_fields[name].annotation
    options = [one for one in get_args(annotation) if one is not type(None)]
    if get_origin(annotation) is Literal or not options:
        return annotation, False
    if get_origin(annotation) is tuple:
        return options[0], options[1:] == [...]
    return options[0], False


def is_part(inner: Any) -> bool:
    """Whether what a field holds is a part of the record, with fields of its own."""
    return isinstance(inner, type) and issubclass(inner, Part)
