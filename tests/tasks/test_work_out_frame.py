"""One picture of the page at once: it holds what was asked for, as plain data that a browser takes."""

import json
import tomllib
from typing import Any

from scribeline.tasks.inline_drawings import InlineDrawing
from scribeline.tasks.live_drawings import DRAWINGS
from scribeline.tasks.work_out_frame import Frame, frame
from tests.examples import KART, text_of


def shown(**more: Any) -> Frame:
    return frame({"record": tomllib.loads(text_of(KART)), **more.pop("document", {})}, plus_minus=False, **more)


def test_only_the_drawings_that_were_asked_for_are_drawn() -> None:
    assert set(shown().drawings) == set(DRAWINGS)
    assert set(shown(drawings=("bore",)).drawings) == {"bore"}
    assert shown(drawings=()).grip == shown().grip


def test_what_goes_to_the_browser_is_plain() -> None:
    one = shown(moves={"exhaust": {"roof": 1.0}})
    for told in (one.turning, one.grip, one.fields):
        assert json.loads(json.dumps(told))
    roof = next(each for each in one.grip["edges"] if each["travel"]["side"] == "roof")
    assert (roof["measured"], roof["way"], roof["label"]) == (29.1, -1.0, "roof below the deck")
    assert one.fields["exhaust"] == {"opens": 88.02, "by": "roof"}
    assert one.fields["intake"]["by"] == "floor"


def test_a_warning_stands_beside_the_drawing_it_is_about() -> None:
    one = shown()
    assert [each.short for each in one.beside("squish")] == ["Squish gap at the bore wall"]
    assert [each.short for each in one.beside("bore")] == ["Ring end 1 over the intake", "Ring end 2 over the intake"]


def test_of_no_engine_there_is_nothing_to_turn_or_hold() -> None:
    one = frame({"record": {}})
    assert (one.turning, one.grip, one.fields, one.answers) == ({}, {}, {}, ())
    assert not any(isinstance(drawing, InlineDrawing) for drawing in one.drawings.values())
