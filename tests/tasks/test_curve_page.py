"""Pages of curves and traces: whole, escaped, loading nothing; a picture that says what the numbers say."""

from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from scribeline.errors import SheetError
from scribeline.marking.drafting import texts
from scribeline.tasks.curve_page import curve_drawing, curve_page, trace_page, write_page
from tests.examples import REED
from tests.tasks.curves import curve_of, half_failed, trace_of

VOID = {"meta", "link", "br", "img", "path", "circle"}


class Reading(HTMLParser):
    """Counts what is open and collects the text and every address."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.addresses: list[str] = []
        self.words = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.addresses += [value or "" for name, value in attrs if name in ("src", "href", "data")]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words += data


@pytest.mark.parametrize("page", [lambda: curve_page(curve_of(), curve_of(REED)), lambda: trace_page(trace_of())])
def test_a_page_is_whole_and_loads_nothing(page):
    read = Reading(page())
    assert read.open == []
    assert read.addresses == []
    assert "Invented for demonstration" in read.words
    for caution in curve_of().cautions:
        assert caution.text in read.words


def test_the_page_says_what_limits_every_speed_and_flags_the_band():
    curve = curve_of()
    words = Reading(curve_page(curve)).words
    assert all(point.limit in words for point in curve.points)
    assert all(remark in words for remark in curve.remarks)
    assert all(one.reason in words for one in curve.build.taken)


def test_a_speed_without_a_result_is_on_the_page_and_crossed_in_the_drawing():
    assert "500 to 30000" in Reading(curve_page(half_failed())).words
    drawing = curve_drawing(half_failed())
    assert any("no result there" in one.words for one in texts(drawing))


def test_the_drawing_lays_two_engines_over_each_other():
    drawing = curve_drawing(curve_of(), curve_of(REED))
    roles = [group.role for group in drawing.groups]
    assert roles.count("target") == roles.count("today") == 7
    best = curve_of().best
    assert best is not None
    assert f"{best.got.power_w / 1e3:.2f} kilowatts at {best.speed_rpm:g} rpm" in drawing.description


def test_an_engine_of_an_odd_name_is_escaped():
    curve = curve_of()
    record = curve.out.record.model_copy(update={"name": "<b>&kart"})
    odd = replace(curve, out=replace(curve.out, record=record))
    assert "<b>&kart" not in curve_page(odd)
    assert "<b>&kart" in Reading(curve_page(odd)).words


def test_a_file_that_cannot_be_written_is_refused(tmp_path: Path):
    write_page("x", tmp_path / "new" / "a.html")
    assert (tmp_path / "new" / "a.html").read_text() == "x"
    (tmp_path / "file").write_text("")
    with pytest.raises(SheetError, match="choose another name"):
        write_page("x", tmp_path / "file" / "a.html")
