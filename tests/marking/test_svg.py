"""What every written picture promises: it stands alone, says what it shows, and is true to size."""

import doctest
import math
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.errors import SheetError
from scribeline.marking import svg
from scribeline.marking.shapes import (
    PENS,
    Circle,
    Dimension,
    Drawing,
    Group,
    Hatch,
    Text,
    arc,
    group,
    line,
    rectangle,
    ring_sector,
)
from scribeline.marking.svg import style, write_svg
from tests.marking.demonstrations import DRAWINGS
from tests.marking.svg_reading import NAMESPACE, Picture

WRITTEN = {name: write_svg(drawing) for name, drawing in DRAWINGS.items()}
every_picture = pytest.mark.parametrize("name", WRITTEN)


def sheet(*groups: Group, name: str = "sheet", title: str = "A sheet", description: str = "Of paper.") -> Drawing:
    return Drawing(name, title, description, groups)


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(svg).failed == 0


# --- every drawing -----------------------------------------------------------------------------------------------


@every_picture
def test_the_picture_is_xml_and_says_what_it_shows(name: str) -> None:
    root = ElementTree.fromstring(WRITTEN[name])
    assert root.tag == f"{NAMESPACE}svg"
    assert root.attrib["role"] == "img"
    named = {one.attrib["id"]: one.text for one in root if one.tag in (f"{NAMESPACE}title", f"{NAMESPACE}desc")}
    assert list(named) == root.attrib["aria-labelledby"].split()
    assert list(named.values()) == [DRAWINGS[name].title, DRAWINGS[name].description]
    assert all(len(text or "") > 8 for text in named.values())


@every_picture
def test_the_picture_needs_nothing_from_elsewhere_and_runs_nothing(name: str) -> None:
    root = ElementTree.fromstring(WRITTEN[name])
    tags = {one.tag.removeprefix(NAMESPACE) for one in root.iter()}
    assert tags <= {"svg", "title", "desc", "style", "rect", "g", "path", "circle", "text"}
    attributes = {key for one in root.iter() for key in one.attrib}
    assert attributes <= {
        "class", "width", "height", "viewBox", "role", "aria-labelledby", "id", "x", "y", "d", "cx", "cy", "r",
        "font-size", "text-anchor", "transform",
    }  # fmt: skip
    rules = root.findtext(f"{NAMESPACE}style") or ""
    assert "url(" not in rules
    assert "@import" not in rules
    assert WRITTEN[name].count("://") == 1  # the name of the format itself


@every_picture
def test_the_picture_is_as_large_as_it_says_and_nothing_is_clipped(name: str) -> None:
    picture = Picture(WRITTEN[name])
    left, top, width, height = picture.view
    assert picture.root.attrib["width"] == f"{width:g}mm"
    assert picture.root.attrib["height"] == f"{height:g}mm"
    points = [point for stroke in picture.strokes() for point in stroke.samples]
    points += [(x + way * r, y + way * r) for (x, y), r in picture.circles() for way in (-1, 1)]
    points += [(one.x, one.y) for one in picture.lettering]
    assert all(left + 1.0 < x < left + width - 1.0 and top + 1.0 < y < top + height - 1.0 for x, y in points)


@every_picture
def test_numbers_are_short_and_plain(name: str) -> None:
    drawn = re.findall(r'(?: d| cx| cy| r| x| y|viewBox|font-size)="([^"]*)"', WRITTEN[name])
    numbers = [number for one in drawn for number in re.findall(r"[^\sMLAZ]+", one)]
    assert len(numbers) > 20
    broken = [number for number in numbers if not re.fullmatch(r"-?\d+(\.\d{0,2}[1-9])?", number) or number == "-0"]
    assert broken == []


def test_the_same_drawing_gives_the_same_text_in_another_process() -> None:
    """With another seed for the order of sets."""
    code = (
        "from tests.marking.demonstrations import DRAWINGS;from scribeline.marking.svg import write_svg;"
        "import hashlib;print(hashlib.sha256(''.join(map(write_svg,DRAWINGS.values())).encode()).hexdigest())"
    )
    seen = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(seen) == 1


# --- words -------------------------------------------------------------------------------------------------------


@settings(deadline=None)
@given(st.text(st.characters(exclude_categories=("Cs",)), max_size=40))
def test_any_words_come_back_as_they_were_or_with_forbidden_ones_marked(words: str) -> None:
    drawing = sheet(
        group("note", Text((0.0, 0.0), "x" + words), about="a " + words), title="t " + words, description="d " + words
    )
    picture = Picture(write_svg(drawing))
    allowed = re.sub("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "\N{REPLACEMENT CHARACTER}", words)
    read = allowed.replace("\r\n", "\n").replace("\r", "\n")  # as every reader of XML has it
    assert picture.words == ["x" + read]
    assert picture.root.findtext(f"{NAMESPACE}title") == "t " + read
    assert picture.root.findtext(f"{NAMESPACE}desc") == "d " + read
    assert picture.groups("note")[0].findtext(f"{NAMESPACE}title") == "a " + read


def test_markup_in_words_stays_words() -> None:
    text = write_svg(sheet(group("note", Text((0.0, 0.0), '</text><script>alert("&")</script>'))))
    assert "<script" not in text
    assert Picture(text).words == ['</text><script>alert("&")</script>']


# --- shapes ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("start", "end"), [(0.0, 90.0), (200.0, 20.0), (-30.0, 250.0), (10.0, -280.0)])
def test_an_arc_is_written_round_its_centre_the_right_way(start: float, end: float) -> None:
    drawing = sheet(group("outline", arc((5.0, 7.0), 20.0, start, end)))
    (stroke,) = Picture(write_svg(drawing)).strokes()
    for edge in stroke.edges:
        assert edge.centre == pytest.approx((5.0, -7.0), abs=0.002)
        assert edge.radius == 20.0
        assert edge.clockwise is (end < start)
        assert edge.turn_deg <= 90.01
    assert sum(edge.turn_deg for edge in stroke.edges) == pytest.approx(abs(end - start), abs=0.01)


def test_a_closed_round_shape_is_closed_once() -> None:
    drawing = sheet(group("exhaust", ring_sector((0.0, 0.0), 20.0, 25.0, 0.0, 200.0)))
    (stroke,) = Picture(write_svg(drawing)).strokes()
    assert stroke.closed
    assert [edge.radius for edge in stroke.edges] == [*[25.0] * 3, None, *[20.0] * 3, None]


def test_y_is_turned_over_and_nothing_else() -> None:
    drawing = sheet(
        group("outline", line((1.0, 2.0), (3.0, -4.0)), Circle((5.0, 6.0), 2.0)),
        group("note", Text((7.0, 8.0), "up", 3.6, "end", 90.0)),
    )
    text = write_svg(drawing)
    assert 'd="M1 -2L3 4"' in text
    assert '<circle cx="5" cy="-6" r="2"/>' in text
    assert '<text x="7" y="-8" font-size="5" text-anchor="end" transform="rotate(-90 7 -8)">up</text>' in text


def test_a_hatch_is_one_path_of_many_lines() -> None:
    picture = Picture(write_svg(sheet(group("hatch", Hatch((rectangle(0.0, 0.0, 10.0, 10.0),), 1.0, 0.0)))))
    assert len(list(picture.root.iter(f"{NAMESPACE}path"))) == 1
    assert len(picture.strokes()) == 10


def test_the_heads_of_a_dimension_are_filled_and_its_lines_are_not() -> None:
    picture = Picture(write_svg(sheet(group("dimension", Dimension((0.0, 0.0), (50.0, 0.0), "50.00", 8.0)))))
    lines, heads = picture.root.iter(f"{NAMESPACE}path")
    assert "class" not in lines.attrib
    assert heads.attrib["class"] == "head"
    assert heads.attrib["d"].count("Z") == 2
    assert picture.words == ["50.00"]


@pytest.mark.parametrize("broken", [math.nan, math.inf])
def test_a_coordinate_that_is_no_number_is_refused(broken: float) -> None:
    with pytest.raises(SheetError, match="not a number"):
        write_svg(sheet(group("outline", Circle((0.0, broken), 1.0))))


@pytest.mark.parametrize("name", ["", "Bore", "1st", 'a"b', "a b", "bore\n"])
def test_a_name_that_cannot_be_an_identifier_is_refused(name: str) -> None:
    with pytest.raises(SheetError, match="lower-case letters"):
        write_svg(sheet(group("outline", line((0.0, 0.0), (1.0, 1.0))), name=name))


# --- pens and colours --------------------------------------------------------------------------------------------


def test_an_inline_picture_leaves_paper_and_style_to_the_page() -> None:
    alone, inline = (write_svg(DRAWINGS["bore"], inline=inline) for inline in (False, True))
    assert "<style>" in alone
    assert "<rect" in alone
    assert "<style>" not in inline
    assert "<rect" not in inline
    classes = {name for one in Picture(inline).root.iter() for name in one.attrib.get("class", "").split()}
    assert all(f".{name}" in style() for name in classes)


def test_a_file_has_rules_for_the_roles_it_uses_and_no_others() -> None:
    rules = style(["hatch", "outline"])
    assert ".outline{" in rules
    assert ".hatch{" in rules
    assert ".dimension{" not in rules
    assert all(f".{role.replace(' ', '-')}{{" in style() for role in PENS)


def colours(rules: str) -> tuple[dict[str, str], dict[str, str]]:
    """Colour by name on light and on dark paper."""
    light, dark = (
        dict(re.findall(r"--([\w-]+):var\(--drawing-[\w-]+,(#[0-9a-f]{6})\)", part))
        for part in rules.split("@media(prefers-color-scheme:dark)")
    )
    return light, dark


def contrast(first: str, other: str) -> float:
    """Contrast ratio of WCAG 2 (formula from memory)."""

    def luminance(colour: str) -> float:
        parts = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
        linear = [part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    dark, light = sorted((luminance(first), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_lettering_and_lines_stand_out_on_light_and_on_dark_paper() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    for palette in colours(style()):
        assert set(palette) == {"paper", "ink", "faint", "accent", "wash", "accent-wash"}
        for behind in ("paper", "wash", "accent-wash"):
            assert contrast(palette["ink"], palette[behind]) >= 7.0
        assert contrast(palette["accent"], palette["paper"]) >= 4.5
        assert contrast(palette["faint"], palette["paper"]) >= 3.0


def test_a_program_without_variables_shows_the_light_colours() -> None:
    light, _ = colours(style())
    for plain, name in re.findall(r"(?:color|fill):(#[0-9a-f]{6});(?:color|fill):var\(--([\w-]+)\)", style()):
        assert plain == light[name]
    assert re.search(r"color:#[0-9a-f]{6};color:var", style())


def test_no_colour_stands_outside_the_palette() -> None:
    allowed = {colour for palette in colours(style()) for colour in palette.values()}
    for text in WRITTEN.values():
        assert set(re.findall(r"#[0-9a-fA-F]{3,8}\b", text)) <= allowed
