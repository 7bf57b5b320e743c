"""The report in words and as JSON."""

import json

from scribeline.tasks.pipe_text import WIDTH, pipe_json, pipe_text
from tests.tasks.pipes import designed, first, fitted


def test_no_line_is_wider_than_a_page() -> None:
    for report in (designed(), first(), fitted()):
        assert max(len(line) for line in pipe_text(report).splitlines()) <= WIDTH


def test_formula_and_simulation_are_on_neighbouring_lines() -> None:
    text = pipe_text(designed())
    lines = text[text.index("TUNED FOR, rpm") :].splitlines()
    assert lines[1].strip().startswith("published formula, waves at 518 m/s")
    assert lines[2].strip().startswith("simulation: middle of the band above 90 % of best")
    assert len(lines[1].split()[-3:]) == len(designed().candidates)
    assert "simulation: best trapping" in text
    assert "no engine was run" in text


def test_what_is_judgement_and_what_is_published_is_said() -> None:
    text = pipe_text(designed())
    assert "jennings-1973" in text
    assert "is judgement" in " ".join(text.split())
    assert "CAUTIONS" in text
    assert "(INVENTED, for demonstration)" in text


def test_the_fragment_stands_at_the_end_of_a_design_and_not_of_a_reading() -> None:
    assert pipe_text(first()).rstrip().endswith('with = "chosen"}')
    assert "[[exhaust.sections]]" not in pipe_text(fitted())


def test_json_holds_every_pipe_with_its_sections_and_tuned_speeds() -> None:
    report = designed()
    document = json.loads(pipe_json(report))
    assert [one["name"] for one in document["pipes"]] == ["fitted", "first", "refined"]
    refined = document["pipes"][-1]
    assert sum(one["length_mm"] for one in refined["sections"]) == refined["length_mm"]
    assert refined["tuned_for_rpm"]["formula"] == report.chosen.formula_rpm
    assert refined["tuned_for_rpm"]["simulation"]["centre_rpm"] == report.chosen.tuned.centre_rpm  # type: ignore[union-attr]
    assert len(refined["curve"]) == len(report.speeds_rpm)
    assert document["wanted"]["longest_mm"] is None
    assert document["cautions"]
    assert json.loads(pipe_json(fitted()))["wanted"] is None
