"""What the commands print for whoever reads inches: every length in inches too, and lines no longer than before."""

import re
from datetime import date
from pathlib import Path

import pytest

from scribeline.errors import GeometryError
from scribeline.marking.shapes import Text
from scribeline.tasks.build_card import write_build_card
from scribeline.tasks.curve_page import trace_page
from scribeline.tasks.curve_text import WIDTH, curve_text
from scribeline.tasks.pipe_files import report_drawing, typed_length
from scribeline.tasks.pipe_text import pipe_text
from scribeline.tasks.trace import trace_drawings, trace_text
from tests.examples import KART, path_of
from tests.tasks.curves import curve_of
from tests.tasks.pipes import fitted
from tests.tasks.test_trace import trace_of

MM_ALONE = re.compile(r"[0-9] mm(?![\w²³])(?! bars?\b)(?! \([^)]* in\))")


def one_line(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("made", [lambda units: curve_text(curve_of(), units=units),
                                  lambda units: trace_text(trace_of(), units=units)])  # fmt: skip
def test_a_simulation_says_inches_behind_millimetres(made) -> None:
    text = made("inch")
    assert "known for 100 to 300 mm (3.94 to 11.81 in)" in one_line(text)  # 1 in = 25.4 mm
    assert MM_ALONE.search(one_line(text)) is None
    assert MM_ALONE.search(one_line(made("mm")))
    below_the_table = text.split("WHAT LIMITS")[1].split("ASSUMED")[1]
    assert max(map(len, below_the_table.splitlines())) <= WIDTH


def test_the_pipe_of_a_trace_has_a_rule_in_inches() -> None:
    waves = trace_drawings(trace_of(), "inch")[-1]
    words = [shape.words for group in waves.groups for shape in group.shapes if isinstance(shape, Text)]
    along = sum(one.length_mm.value for one in trace_of().out.record.exhaust.sections)
    inches = [int(one) for one in words if one.isdigit() and int(one) % 4 == 0 and int(one) < 90]
    assert max(inches) == pytest.approx(along / 25.4, abs=6)
    assert "in along the pipe from the bore" in words
    assert MM_ALONE.search(trace_page(trace_of(), units="inch")) is None


def test_a_pipe_in_inches_and_lengths_as_they_are_typed_everywhere() -> None:
    text = pipe_text(fitted(), "inch")
    assert "included angle; in and degrees)" in text
    for said in ("Ø1.339 to Ø1.496", "9.449, 1.0°", "40.945"):  # 34 and 38, 240, and 1040 mm in all
        assert said in text
    drawn = report_drawing(fitted(), "inch")
    assert "9.449" in [s.words for group in drawn.groups for s in group.shapes if isinstance(s, Text)]
    assert typed_length("--metal", "0.04", 0.3, 3.0, "inch") == pytest.approx(1.016)
    assert typed_length("--metal", "1 mm", 0.3, 3.0, "inch") == 1.0
    with pytest.raises(GeometryError, match=r"--header 34, that is 34\.000 in\n +accepted: 0\.197 in to 5\.906 in"):
        typed_length("--header", "34", 5.0, 150.0, "inch")
    with pytest.raises(GeometryError, match="accepted: 100 mm or more"):
        typed_length("--longest", "40", 100.0, float("inf"), "mm")


def test_a_build_card_in_inches(tmp_path: Path) -> None:
    card = write_build_card(path_of(KART), tmp_path / "card.svg", units="inch", on=date(2026, 11, 25))
    said = re.findall(r"<text[^>]*>([^<]*)</text>", card.read_text(encoding="utf-8"))
    assert "1.969 x 1.969 in, 98.2 cc" in said  # 50 x 50 mm
    assert not any(MM_ALONE.search(one) for one in said)
