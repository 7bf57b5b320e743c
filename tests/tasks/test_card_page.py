"""The card's page: whole, reaching for nothing outside itself, with the working of every number; and writing it."""

import re
import xml.etree.ElementTree as ET
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest

from scribeline.errors import SheetError
from scribeline.plan.limits import Warning
from scribeline.sources import SOURCES
from scribeline.tasks import card_page as module
from scribeline.tasks.card import EngineCard, engine_card, put_in
from scribeline.tasks.card_page import card_page, write_card_page
from scribeline.tasks.drawings import engine_drawings
from scribeline.units import show
from tests.examples import KART, REED, SOUND, card_of, edited

VOID = {"meta", "br", "hr", "img", "input", "link", "source", "embed", "base"}
NOT_TO_SCALE = "This print is not to scale. Do not cut metal to it."


class Tree(HTMLParser):
    """Builds the page's tree, and refuses a tag that is closed where it was not opened."""

    def __init__(self) -> None:
        super().__init__()
        self.builder = ET.TreeBuilder()
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert len(dict(attrs)) == len(attrs), f"<{tag}> has an attribute twice"
        self.builder.start(tag, {name: value or "" for name, value in attrs})
        if tag in VOID:
            self.builder.end(tag)
        else:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag
        self.builder.end(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.builder.start(tag, {name: value or "" for name, value in attrs})
        self.builder.end(tag)

    def handle_data(self, data: str) -> None:
        if self.open:
            self.builder.data(data)
        else:
            assert not data.strip(), f"text outside the page: {data!r}"


def tree(text: str) -> ET.Element:
    parser = Tree()
    parser.feed(text)
    parser.close()
    assert parser.open == []
    return parser.builder.close()


@cache
def text_of_page(name: str) -> str:
    return card_page(card_of(name))


@cache
def page_of(name: str) -> ET.Element:
    return tree(text_of_page(name))


def words(element: ET.Element | None) -> str:
    assert element is not None
    return " ".join("".join(element.itertext()).split())


def lines(page: ET.Element) -> dict[str, ET.Element]:
    """The lines of the numbers by the name that stands in each."""
    found = {}
    for line in page.iter("details"):
        if line.get("class") != "steps":
            codes = [words(code) for code in line.iter("code")]
            assert codes
            assert codes[-1] not in found
            found[codes[-1]] = line
    return found


def outside(text: str) -> list[str]:
    """Whatever in a page reaches for something outside it."""
    found = re.findall(r"@import|url\s*\(|expression\s*\(", text, re.IGNORECASE)
    for element in tree(text).iter():
        for name, value in element.attrib.items():
            leads_inside = name == "href" and value.startswith("#")
            reaches = name in {"src", "srcset", "href", "xlink:href", "action", "data", "poster", "background"}
            names_a_host = "//" in value and name != "xmlns"
            if (reaches and not leads_inside) or names_a_host or name.startswith("on"):
                found.append(f"{element.tag} {name}={value}")
        if element.tag in {"script", "link", "iframe", "object", "embed", "base", "img"}:
            found.append(element.tag)
    return found


# --- the page as such ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SOUND)
def test_the_page_is_whole_and_says_its_language(name: str) -> None:
    assert text_of_page(name).startswith("<!doctype html>\n")
    page = page_of(name)
    assert (page.tag, page.get("lang")) == ("html", "en")
    assert [child.tag for child in page] == ["head", "body"]
    metas = [meta.attrib for meta in page.iter("meta")]
    assert {"charset": "utf-8"} in metas
    assert {"name": "viewport", "content": "width=device-width, initial-scale=1"} in metas


@pytest.mark.parametrize("name", SOUND)
def test_the_page_reaches_for_nothing_outside_itself(name: str) -> None:
    assert outside(text_of_page(name)) == []
    (policy,) = (
        meta.get("content") for meta in page_of(name).iter("meta") if meta.get("http-equiv", "").startswith("Content-S")
    )
    assert policy == "default-src 'none'; style-src 'unsafe-inline'"


@pytest.mark.parametrize(
    "piece",
    [
        '<img src="here.png">',
        '<a href="https://somewhere.example">x</a>',
        "<style>@import 'x.css';</style>",
        '<p style="background:url(x.png)">x</p>',
        "<script>alert(1)</script>",
        '<p onclick="x()">x</p>',
        '<p data-x="//somewhere.example/x">x</p>',
    ],
)
def test_reaching_outside_would_be_seen(piece: str) -> None:
    assert outside(f"<html>{piece}</html>")


@pytest.mark.parametrize("name", SOUND)
def test_ids_are_unique_and_every_link_leads_to_one(name: str) -> None:
    ids = [element.get("id") for element in page_of(name).iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    targets = {element.get("href", "").removeprefix("#") for element in page_of(name).iter("a")}
    assert len(targets) > 50
    assert targets <= set(ids)
    labels = {one for element in page_of(name).iter("svg") for one in element.get("aria-labelledby", "").split()}
    assert len(labels) == 2 * len(list(engine_drawings(card_of(name).out)))
    assert labels <= set(ids)


@pytest.mark.parametrize("name", SOUND)
def test_sections_stand_once_with_warnings_and_drawings_first(name: str) -> None:
    headings = [words(heading) for heading in page_of(name).iter("h2")]
    assert len(headings) == len(set(headings))
    assert headings[:3] == ["Warnings", "Drawings", "Crank and piston"]
    assert headings[-2:] == ["Assumed, because nobody measured it", "Cautions"]
    topics = {worked.topic for worked in card_of(name).out.values.values()}
    assert topics <= set(headings)
    (nav,) = page_of(name).iter("nav")
    assert [words(link) for link in nav] == headings


def test_what_an_engine_lacks_stands_under_its_heading_and_last() -> None:
    """The reed engine has no intake timing, and a kart without head readings no compression but a squish band."""
    headings = [words(heading) for heading in page_of(REED).iter("h2")]
    assert headings == [words(heading) for heading in page_of(KART).iter("h2")]
    clearance = 'clearance_on_engine_cc = { value = 12.6, plus_minus = 0.25, with = "burette" }'
    bench = 'chamber_on_bench_cc = { value = 10.6, plus_minus = 0.15, with = "burette" }'
    page = tree(card_page(engine_card(edited((clearance, ""), (bench, "")), draws=0)))
    lines_of = [words(line.find("summary")) for line in section(page, "Squish").findall("div/details")]
    assert lines_of[-2].endswith("none")
    assert not any(line.endswith("none") for line in lines_of[:-2])


# --- drawings --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SOUND)
def test_each_drawing_stands_on_the_page_in_words_too(name: str) -> None:
    drawings = list(engine_drawings(card_of(name).out))
    svgs = list(page_of(name).iter("svg"))
    assert len(drawings) == len(svgs) == 5
    for drawing, svg, figure in zip(drawings, svgs, page_of(name).iter("figure"), strict=True):
        assert [child.tag for child in svg][:2] == ["title", "desc"]
        assert words(svg.find("title")) == drawing.title
        assert len(words(svg.find("desc"))) > 40
        assert svg in list(figure.iter())
        assert words(figure.find("figcaption")).startswith(f"{drawing.title}.")


def test_a_printed_page_says_that_it_is_not_to_scale() -> None:
    page = page_of(KART)
    said = [element for element in page.iter() if element.get("class") == "printed"]
    assert len(said) == 1 + len(list(page.iter("figure")))
    assert {words(element) for element in said} == {NOT_TO_SCALE}
    css = words(page.find("head/style"))
    assert ".printed { display: none; }" in css
    assert re.search(r"@media print \{ \.printed \{ display: block;", css)
    assert "a scale that is written in one of them does not hold here" in words(page)


# --- numbers ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SOUND)
def test_every_number_has_its_working(name: str) -> None:
    out = card_of(name).out
    found = lines(page_of(name))
    assert list(found) != []
    assert set(found) == set(out.values)
    for number, worked in out.values.items():
        line = found[number]
        label, value = (
            words(next(span for span in line.iter("span") if span.get("class") == one)) for one in ("label", "number")
        )
        assert worked.label.lower().endswith(label.lower())
        if worked.value is None:
            assert value == "none"
            assert worked.why_absent.lower() in words(line).lower()
            continue
        assert value == show(worked.value, worked.unit, worked.plus_minus)
        (working,) = line.iter("dl")
        terms = [words(one) for one in working.iter("dt")]
        assert terms == ["formula", "with your numbers", "what went in", "source", "name"]
        said = dict(zip(terms, working.iter("dd"), strict=True))
        assert words(said["formula"]) == " ".join(worked.formula.split())
        assert words(said["with your numbers"]) == " ".join(put_in(out, worked).split())
        assert words(said["source"]) == SOURCES[worked.source].text
        assert len(list(said["what went in"].iter("li"))) == len(worked.inputs)


@pytest.mark.parametrize("name", SOUND)
def test_steps_on_the_way_are_folded_up_and_nothing_else_is(name: str) -> None:
    page, out = page_of(name), card_of(name).out
    folded = {
        words(list(line.iter("code"))[-1])
        for steps in page.iter("details")
        if steps.get("class") == "steps"
        for line in steps.iter("details")
        if line is not steps
    }
    assert folded == {worked.name for worked in out.values.values() if worked.inner}
    assert not any(line.get("open") is not None for line in page.iter("details"))


def test_what_went_in_says_how_it_is_measured_or_leads_on() -> None:
    found = lines(page_of(KART))
    bore = words(found["bore_area_mm2"])
    assert "B = 50.000 ± 0.010 mm; measure: across the bore, below the ring's reversal" in bore
    assert "(bore gauge) cylinder.bore_mm" in bore
    (link,) = (link for link in found["swept_volume_cc"].iter("a") if words(link) == "area of the bore")
    assert link.get("href") == f"#{found['bore_area_mm2'].get('id')}"
    assert "assumed: no outer diameter of the band: taken as the bore" in words(found["squish_area_ratio"])
    assert "chosen: the crank speed" in words(found["mean_piston_speed_m_s"])


def test_ports_stand_under_their_names() -> None:
    headings = [words(heading) for heading in page_of(REED).iter("h3")]
    assert headings == ["Exhaust", "Side exhaust", "Main transfer", "Rear transfer", "Boost"]


def test_the_title_block_holds_the_chief_numbers_this_engine_has() -> None:
    def chief(name: str) -> dict[str, str]:
        (header,) = page_of(name).iter("header")
        return {
            words(cell.find("dt")): words(cell.find("dd")) for cell in header.iter("div") if cell.find("dt") is not None
        }

    kart, reed = chief(KART), chief(REED)
    assert kart["displacement"] == "98.176 ± 0.071 cc"
    assert len(kart) == 8
    assert set(kart) - set(reed) == {"intake open"}
    assert " ".join(kart.values()).count("±") == 8


def test_without_plus_minus_the_page_has_none() -> None:
    page = tree(card_page(engine_card(edited(), draws=0)))
    (header,) = page.iter("header")
    assert "±" not in words(header)
    assert "Worked out without +/-." in words(header)


# --- words -----------------------------------------------------------------------------------------------------------


def section(page: ET.Element, heading: str) -> ET.Element:
    return next(one for one in page.iter("section") if words(one.find("h2")) == heading)


def test_warnings_with_what_is_certain_marked() -> None:
    sure = Warning("x", "Mind this. It is so.", "judgement", "stop", True)
    unsure = Warning("y", "Mind that, which may be so.", "common-practice", "look again", False)
    card = card_of(KART)
    both = section(tree(card_page(EngineCard(card.out, (sure, unsure), card.cautions))), "Warnings")
    boxes = [box for box in both.iter("div") if box.get("class", "").startswith("warning")]
    assert [box.get("class") for box in boxes] == ["warning certain", "warning"]
    assert words(boxes[0]) == "Mind this. It is so. (judgement) Stop."
    assert words(boxes[1]) == "Mind that, which may be so. (common practice) Look again."
    none = section(tree(card_page(EngineCard(card.out, (), card.cautions))), "Warnings")
    assert words(none) == "Warnings No common-practice limit is passed."


@pytest.mark.parametrize("name", SOUND)
def test_warnings_cautions_agreements_and_assumptions_are_all_there(name: str) -> None:
    page, card = page_of(name), card_of(name)
    for warning in card.warnings:
        assert warning.message in words(section(page, "Warnings"))
        assert warning.message[0].isupper()
    assert [words(item) for item in section(page, "Cautions").iter("li")] == [one.text for one in card.cautions]
    assert len(list(section(page, "Measured twice").iter("li"))) == len(card.out.agreements)
    assumed = {words(code) for code in section(page, "Assumed, because nobody measured it").iter("code")}
    used_without = {one.place for one in card.out.readings.values() if one.plus_minus_is_assumed} & set(card.out.used)
    assert assumed == {one.name for one in card.out.assumed.values() if not one.chosen} | used_without


def test_an_invented_engine_says_so_and_another_does_not() -> None:
    said = "Invented for demonstration: no such engine exists."
    assert said in words(page_of(KART).find("body"))
    assert words(page_of(KART).find("head/title")) == "Engine card: Club kart 98 (invented)"
    real = tree(card_page(engine_card(edited(("invented = true", "invented = false")), draws=0)))
    assert "nvented for" not in words(real.find("body"))
    assert words(real.find("head/title")) == "Engine card: Club kart 98"


NASTY = """</h1></style><script>alert(1)</script><img src=x onerror=alert(1)> & 'single' "double" <!--"""


def test_whatever_a_record_says_stays_text() -> None:
    written = NASTY.replace('"', '\\"')
    port = """<b onclick='x'>&amp;"""
    text = card_page(
        engine_card(
            edited(
                ('name = "Club kart 98"', f'name = "{written}"'),
                ('note = "Invented single', f'note = "{written} single'),
                ("main transfer", port),
                ('name = "diffuser"', f'name = "{written}"'),
            )
        )
    )
    page = tree(text)
    assert outside(text) == []
    assert words(page.find(".//h1")) == NASTY
    assert words(page.find("head/title")) == f"Engine card: {NASTY} (invented)"
    assert f"{NASTY} single-cylinder club kart engine" in words(page)
    assert port in [words(heading) for heading in page.iter("h3")]
    assert not list(page.iter("b"))
    assert any(NASTY in words(svg) for svg in page.iter("svg"))


# --- writing it ------------------------------------------------------------------------------------------------------


@cache
def plain_card() -> EngineCard:
    return engine_card(edited(), draws=0)


def test_the_page_is_written_as_it_is_in_utf_8(tmp_path: Path) -> None:
    path = tmp_path / "new folder" / "card.html"
    write_card_page(plain_card(), path)
    assert path.read_bytes() == card_page(plain_card()).encode()
    assert "±" in card_page(card_of(KART))
    assert list(path.parent.iterdir()) == [path]


def test_a_page_that_stands_there_is_replaced(tmp_path: Path) -> None:
    path = tmp_path / ("k" * 250 + ".html")
    path.write_text("old")
    write_card_page(plain_card(), path)
    assert path.read_text(encoding="utf-8").startswith("<!doctype html>")
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("step", ["write_text", "replace"])
def test_the_old_page_is_kept_where_the_new_one_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    path = tmp_path / "card.html"
    path.write_text("old")
    whole_step = getattr(Path, step)

    def disk_full(self: Path, *arguments: object, **named: object) -> object:
        if step == "write_text":
            whole_step(self, "half a pa")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(module.Path, step, disk_full)
    with pytest.raises(SheetError, match=r"No space left on device\n    accepted: .*\n    what to do: ") as refusal:
        write_card_page(plain_card(), path)
    monkeypatch.undo()
    assert str(refusal.value).startswith(f"{path}: ")
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("name", ["file/card.html", ".", "n" * 300])
def test_a_place_that_cannot_hold_a_page_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "file").write_text("a file, no folder")
    with pytest.raises(SheetError, match="choose another name with --html"):
        write_card_page(plain_card(), Path(name))
    assert [path.name for path in tmp_path.iterdir()] == ["file"]
