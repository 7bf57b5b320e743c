"""Which questions `scribeline new` asks, in which order, given the answers so far.

The record's own descriptions say what there is to ask: its parts, fields, units, ranges, and how each is measured.
`new_wording` adds order, conditions and plain words. Nothing is remembered here: the questions are walked through
from the first one every time, with the answers typed so far, so that taking one back needs no undoing.
"""

from collections.abc import Generator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from scribeline.engine import EngineRecord, Part
from scribeline.errors import TypedValueError
from scribeline.tasks import new_answers as answer
from scribeline.tasks import new_fields as fields
from scribeline.tasks import new_wording as wording


@dataclass(frozen=True)
class Question:
    """One question.

    place : where its answer belongs, list elements counted from 1: ``ports.1.roof_from_deck_mm``
    progress : how far one is, in plain words: ``crank, 2 of 3``
    label, hint : what is asked, and one line how to measure it
    kind : what may be answered
    on_enter : what leaving it empty means; None where an answer is needed
    default : the value that leaving it empty stands for
    about : some lines about the part it belongs to
    """

    place: str
    progress: str
    label: str
    hint: str
    kind: answer.Kind
    on_enter: str | None
    default: Any
    about: str

    def value(self, typed: str) -> Any:
        """The value an answer stands for; raises TypedValueError where it is refused."""
        if typed:
            return self.kind.read(typed)
        if self.on_enter is None:
            raise TypedValueError(f"An answer is needed here.\n    accepted: {self.kind.accepts}")
        return self.default


Walk = Generator[Question, Any, Any]


@dataclass(frozen=True)
class Standing:
    """Where the answers so far have led to: what was asked, what comes next, and what they say of the engine."""

    asked: list[Question]
    next: Question | None
    engine: dict[str, Any]


def standing(answers: Mapping[str, str]) -> Standing:
    """Walk through the questions with the answers typed so far, by place, up to the first one without."""
    engine: dict[str, Any] = {"scribeline_record": 1}
    asked: list[Question] = []
    walk = _part(EngineRecord, "", "engine", engine, engine)
    try:
        question = next(walk)
        while question.place in answers:
            value = question.value(answers[question.place])
            asked.append(question)
            question = walk.send(value)
    except TypedValueError:  # an answer that this version does not read any more is asked for again
        return Standing(asked, question, engine)
    except StopIteration:
        return Standing(asked, None, engine)
    return Standing(asked, question, engine)


def _part(
    model: type[Part], place: str, title: str, part: dict[str, Any], engine: dict[str, Any], end: str | None = None
) -> Walk:
    """Ask for every field of one part that makes sense, filling `part`.

    end : what leaving the first question empty means, where that ends a list; `part` stays empty then
    """
    ways: dict[str, list[str]] = {}
    for step in _steps(model):
        steps = _sensible(model, {**ways, **part}, engine)
        if step not in steps:
            continue
        here = f"{place}.{step}" if place else step
        progress = _progress(model, title if not place else _with_name(title, part), step, steps)
        if step in wording.WAYS.get(model, {}):
            ways[step] = yield _question_of_ways(model, step, here, progress, part, engine)
        else:
            yield from _field(model, step, here, progress, part, engine, end)
            if end is not None and not part:
                return
            end = None


@cache
def _steps(model: type[Part]) -> list[str]:
    """Fields of a part in the order they are asked, each set of ways right before the first of its fields."""
    first = wording.FIRST.get(model, ())
    steps = [*first, *(name for name in model.model_fields if name not in first)]
    for group, ways in wording.WAYS.get(model, {}).items():
        steps.insert(min(steps.index(way) for way in ways), group)
    return [name for name in steps if (model, name) not in wording.NOT_ASKED]


def ordered_fields(model: type[Part]) -> list[str]:
    """The fields of a part that are asked for, in the order they are asked."""
    return [step for step in _steps(model) if step in model.model_fields]


@cache
def _group_of(model: type[Part], name: str) -> str | None:
    return next((group for group, ways in wording.WAYS.get(model, {}).items() if name in ways), None)


def _sensible(model: type[Part], part: Mapping[str, Any], engine: Mapping[str, Any]) -> list[str]:
    """The steps that make sense, as far as it is known yet."""
    sensible = []
    for name in _steps(model):
        group, condition = _group_of(model, name), wording.ASKED_IF.get((model, name))
        try:
            if (group is None or name in part.get(group, ())) and (condition is None or condition(part, engine)):
                sensible.append(name)
        except KeyError:
            continue  # it rests on an answer that is still to come
    return sensible


def _progress(model: type[Part], title: str, step: str, steps: list[str]) -> str:
    """Parts and lists inside a part count for themselves, unless a question says whether they are there at all."""
    counted = [one for one in steps if one not in model.model_fields or not _is_asked_inside(model, one)]
    return f"{title}, {counted.index(step) + 1} of {len(counted)}" if step in counted else title


@cache
def _is_asked_inside(model: type[Part], name: str) -> bool:
    inner, many = fields.inside(model, name)
    return many or (fields.is_part(inner) and _is_taken_for_granted(model, name))


def _is_taken_for_granted(model: type[Part], name: str) -> bool:
    """A part that every engine has, or that follows from an answer; any other is asked for first."""
    field = model.model_fields[name]
    return field.is_required() or field.default is not None or (model, name) in wording.NEEDED


def _with_name(title: str, part: Mapping[str, Any]) -> str:
    return f"{title} ({part['name']})" if "name" in part else title


def _field(
    model: type[Part],
    name: str,
    place: str,
    progress: str,
    part: dict[str, Any],
    engine: dict[str, Any],
    end: str | None,
) -> Walk:
    """Ask for one field, be it a value, a part or a list, and put the answer into `part` where there is one."""
    inner, many = fields.inside(model, name)
    if many:
        value = yield from _list(model, name, place, progress, engine)
    elif not fields.is_part(inner):
        value = yield _question(model, name, place, progress, end)
    elif _is_taken_for_granted(model, name) or (yield _is_it_there(model, name, place, progress)):
        value = part[name] = {}
        yield from _part(inner, place, fields.title_of(inner), value, engine)
    else:
        value = None
    if value not in (None, []):
        part[name] = value


def _list(model: type[Part], name: str, place: str, progress: str, engine: dict[str, Any]) -> Walk:
    """Ask for one element after the other, until the first question of one is left empty; returns the elements."""
    inner, _ = fields.inside(model, name)
    field = model.model_fields[name]
    one_is_needed = field.is_required() or _group_of(model, name) is not None
    elements: list[Any] = []
    while True:
        here, numbered = f"{place}.{len(elements) + 1}", f"{fields.label_of(model, name)} {len(elements) + 1}"
        end = f"no more ({len(elements)} so far)" if elements else None if one_is_needed else "none"
        element: Any = {}
        if fields.is_part(inner):
            yield from _part(inner, here, numbered, element, engine, end)
        else:
            question = _question(model, name, here, progress, end)
            element = yield replace(question, label=numbered)
        if element in (None, {}):
            return elements
        elements.append(element)


def _question(model: type[Part], name: str, place: str, progress: str, end: str | None) -> Question:
    """The question about a single value, or about one element of a list of values."""
    field = model.model_fields[name]
    many = fields.inside(model, name)[1]
    needed = field.is_required() or (model, name) in wording.NEEDED or _group_of(model, name) is not None
    default = None if many or needed or end else field.default
    on_enter = end
    if end is None and not needed:
        on_enter = "leave it out" if default in (None, "") else fields.as_typed(default)
    spec = model.spec(name)
    return Question(
        place,
        progress,
        fields.label_of(model, name),
        spec.how if spec else wording.HINTS.get((model, name), ""),
        fields.kind_of(model, name),
        on_enter,
        None if default == "" else default,
        fields.about(model),
    )


def _question_of_ways(
    model: type[Part], group: str, place: str, progress: str, part: dict[str, Any], engine: dict[str, Any]
) -> Question:
    ways = {way: words for way, words in wording.WAYS[model][group].items() if wording.way_is_offered(way, engine)}
    needed = wording.ways_are_needed(group, part)
    return Question(
        place,
        progress,
        fields.label_of(model, group),
        wording.HINTS.get((model, group), ""),
        answer.choices_kind(list(ways), list(ways.values())),
        None if needed else "leave it out",
        [],
        fields.about(model),
    )


def _is_it_there(model: type[Part], name: str, place: str, progress: str) -> Question:
    about = fields.about(fields.inside(model, name)[0])
    hint = wording.HINTS.get((model, name), "")
    return Question(place, progress, fields.label_of(model, name), hint, answer.yes_or_no_kind(), "no", False, about)
