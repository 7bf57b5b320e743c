"""A stand-in for a builder: finds in a finished record what to type at each question of `scribeline new`."""

import contextlib
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from scribeline.engine import EngineRecord, Part
from scribeline.tasks import new_questions, new_wording
from scribeline.tasks.new_questions import Question
from scribeline.tasks.new_record import Conversation

Data = dict[str, Any]

_GROUPS = {group: ways for by_group in new_wording.WAYS.values() for group, ways in by_group.items()}


def typed_for(question: Question, data: Data) -> str:
    """What a builder who has measured all of `data`, as tomllib reads it, types at a question."""
    *path, last = question.place.split(".")
    inside: Any = data
    for part in path:
        if isinstance(inside, list):
            inside = inside[int(part) - 1] if int(part) <= len(inside) else {}
        else:
            inside = inside.get(part, {})
    if isinstance(inside, list):
        return as_typed(inside[int(last) - 1]) if int(last) <= len(inside) else ""
    if last in _GROUPS and path and path[0] == "ports":
        return " ".join(str(number) for number, way in enumerate(_offered(last, data), start=1) if way in inside)
    return as_typed(inside[last]) if last in inside else ""


def _offered(group: str, data: Data) -> list[str]:
    return [way for way in _GROUPS[group] if new_wording.way_is_offered(way, data)]


def as_typed(value: Any) -> str:
    if isinstance(value, bool):
        return "y" if value else "n"
    if isinstance(value, list):
        return " ".join(str(one) for one in value)
    if isinstance(value, dict) and "value" in value:
        return f"{value['value']} ± {value['plus_minus']}" if "plus_minus" in value else str(value["value"])
    return "y" if isinstance(value, dict) else str(value)


def asked_of(
    model: type[Part], place: str, type_in: Callable[[Question], str]
) -> tuple[dict[str, Any], list[tuple[Question, str]]]:
    """Walk once through the questions about a part; returns what was entered, and what was asked and typed."""
    data: Data = {}
    asked = []
    walk = new_questions._part(model, place, place or "engine", data, data)
    question = next(walk)
    with contextlib.suppress(StopIteration):
        while True:
            asked.append((question, type_in(question)))
            question = walk.send(question.value(asked[-1][1]))
    return data, asked


def begun(data: Data, until: str, typed: Mapping[str, str] = MappingProxyType({})) -> Conversation:
    """A conversation about an engine up to the question at a place; `typed` replaces answers, by place."""
    _, asked = asked_of(EngineRecord, "", lambda one: typed.get(one.place, typed_for(one, data)))
    answers = {question.place: answer for question, answer in asked}
    places = list(answers)
    return Conversation({place: answers[place] for place in places[: places.index(until)]})


def finish(conversation: Conversation, data: Data) -> list[str]:
    """Type in what is still asked of an engine; returns every line that was typed."""
    lines = []
    while (question := conversation.question) is not None:
        lines.append(typed_for(question, data))
        reply = conversation.say(lines[-1])
        assert conversation.question != question, f"{question.place}: {lines[-1]!r} is refused: {reply}"
    return lines
