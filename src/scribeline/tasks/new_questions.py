"""Which questions `scribeline new` asks, in which order, given the answers so far.

The record's own descriptions say what there is to ask: its parts, fields, units, ranges, and how each is measured.
`new_wording` adds order, conditions and plain words. Nothing is remembered here: the questions are walked through
from the first one every time, with the answers typed so far, so that taking one back needs no undoing.
"""

from collections.abc import Generator, Mapping
from dataclasses import dataclass
from inspect import cleandoc
from typing import Any, Literal, get_args, get_origin

from scribeline.engine import EngineRecord, Measured, Part
from scribeline.errors import TypedValueError
from scribeline.tasks import new_answers as answer
from scribeline.tasks import new_wording as wording
from scribeline.units import RecordUnit


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


def _part(model: type[Part], place: str, title: str, part: dict[str, Any], engine: dict[str, Any]) -> Walk:
    """Ask for every field of one part that makes sense, filling `part`."""
    ways: dict[str, list[str]] = {}
    for step in _steps(model):
        so_far = {**ways, **part}
        steps = [one for one in _steps(model) if _makes_sense(model, one, so_far, engine, ways)]
        if step not in steps:
            continue
        shown = [one for one in steps if _is_counted(model, one)]
        named = f"{title} ({part['name']})" if "name" in part and place else title
        progress = f"{named}, {shown.index(step) + 1} of {len(shown)}" if step in shown else named
        here = f"{place}.{step}" if place else step
        if step in wording.WAYS.get(model, {}):
            ways[step] = yield _question_of_ways(model, step, here, progress, so_far, engine)
            continue
        needed = model.model_fields[step].is_required() or (model, step) in wording.NEEDED or _is_way(model, step)
        yield from _field(model, step, here, progress, needed, part, engine)


def _steps(model: type[Part]) -> list[str]:
    """Fields of a part in the order they are asked, each set of ways right before the first of its fields."""
    first = wording.FIRST.get(model, ())
    fields = [*first, *(name for name in model.model_fields if name not in first)]
    for group, ways in wording.WAYS.get(model, {}).items():
        fields.insert(min(fields.index(way) for way in ways), group)
    return [name for name in fields if (model, name) not in wording.NOT_ASKED]


def _is_way(model: type[Part], name: str) -> bool:
    return any(name in ways for ways in wording.WAYS.get(model, {}).values())


def _makes_sense(
    model: type[Part], name: str, part: Mapping[str, Any], engine: Mapping[str, Any], ways: Mapping[str, list[str]]
) -> bool:
    if _is_way(model, name):
        return any(name in chosen for chosen in ways.values())
    condition = wording.ASKED_IF.get((model, name))
    try:
        return condition is None or condition(part, engine)
    except KeyError:  # it rests on an answer that is still to come
        return False


def _is_counted(model: type[Part], name: str) -> bool:
    """Parts and lists inside a part count for themselves, unless a question says whether they are there at all."""
    if name not in model.model_fields:
        return True
    field = model.model_fields[name]
    inner, many = _inside(field.annotation)
    return not (many or _is_part(inner)) or (_is_part(inner) and field.default is None)


def _field(
    model: type[Part], name: str, place: str, progress: str, needed: bool, part: dict[str, Any], engine: dict[str, Any]
) -> Walk:
    """Ask for one field, be it a value, a part or a list, and put the answer into `part` where there is one."""
    inner, many = _inside(model.model_fields[name].annotation)
    label = _label(model, name)
    if many:
        yield from _list(model, name, place, label, needed, part, engine)
    elif not _is_part(inner):
        value = yield _question(model, name, place, progress, needed=needed)
        if value is not None:
            part[name] = value
    else:
        default = model.model_fields[name].default
        if default is None and not needed:
            there = yield _yes_or_no(model, name, place, progress)
            if not there:
                return
        part[name] = {}
        yield from _part(inner, place, name.replace("_", " "), part[name], engine)
        if default is not None and not part[name]:
            del part[name]


def _list(
    model: type[Part], name: str, place: str, label: str, needed: bool, part: dict[str, Any], engine: dict[str, Any]
) -> Walk:
    """Ask for one element after the other; the first question of each may be left empty to end the list."""
    inner, _ = _inside(model.model_fields[name].annotation)
    elements: list[Any] = []
    while True:
        number = len(elements) + 1
        title, here = f"{label} {number}", f"{place}.{number}"
        end = None if needed and number == 1 else f"no more of these, {len(elements)} so far"
        if not _is_part(inner):
            element = yield _question(model, name, here, title, needed=end is None, on_enter=end)
            if element is None:
                return
            elements.append(element)
        else:
            element = {}
            opener = next(step for step in _steps(inner) if inner.model_fields[step].is_required())
            walk = _part(inner, here, title, element, engine)
            question = next(walk)
            if end is not None:
                assert question.place == f"{here}.{opener}"
                question = _with_end(question, end)
            value = yield question
            if value is None:
                return
            elements.append(element)
            part[name] = elements
            yield from _rest(walk, value)
        part[name] = elements
