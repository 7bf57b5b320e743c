"""The engine card as one page that opens anywhere: drawings inline, no network, prints as text and not to scale.

How it looks stands in card_page.css; what is drawn, in `drawings`. Everything that a record brings is escaped.
"""

import os
from collections.abc import Iterator, Sequence
from contextlib import suppress
from html import escape
from importlib.resources import files
from itertools import groupby
from pathlib import Path

from scribeline import __version__
from scribeline.errors import SheetError
from scribeline.geometry.working import Worked
from scribeline.marking.drafting import extent
from scribeline.marking.svg import style, write_svg
from scribeline.sources import source
from scribeline.tasks.card import EngineCard, agreement_text, by_usual_plus_minus, number_of, put_in, where_from
from scribeline.tasks.drawings import engine_drawings
from scribeline.units import Units, show_in, with_inches

# What stands in the title block, where the engine has it.
_CHIEF = (
    ("displacement_cc", "displacement"),
    ("exhaust_duration_deg", "exhaust open"),
    ("transfer_duration_deg", "transfers open"),
    ("intake_duration_deg", "intake open"),
    ("blowdown_deg", "blowdown"),
    ("compression_ratio_geometric", "compression, whole stroke"),
    ("compression_ratio_trapped", "compression, exhaust shut"),
    ("squish_gap_mm", "squish gap"),
)
_NARROW_MM = 130.0  # a drawing no wider than this is legible on a telephone without sliding it
_NOT_TO_SCALE = "This print is not to scale. Do not cut metal to it."
# The page may load nothing; a browser holds it to that.
_LOADS_NOTHING = "default-src 'none'; style-src 'unsafe-inline'"


def write_card_page(card: EngineCard, path: Path, units: Units = "mm") -> None:
    """Write the page. units : what lengths are written in

    Raises SheetError where the file cannot be written; what stood there before is then kept.
    """
    text = card_page(card, units)
    unfinished = path.parent / f".card-{os.getpid()}.part"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        unfinished.write_text(text, encoding="utf-8")
        unfinished.replace(path)
    except OSError as error:
        with suppress(OSError):
            unfinished.unlink()
        raise SheetError(
            f"{path}: {error.strerror or error}\n    accepted: a file in a folder you may write to\n"
            "    what to do: choose another name with --html"
        ) from None


def card_page(card: EngineCard, units: Units = "mm") -> str:
    """The whole page as text. units : what lengths are written in"""
    record = card.out.record
    title = escape(record.name) + (" (invented)" if record.invented else "")
    css = files("scribeline.tasks").joinpath("card_page.css").read_text(encoding="utf-8")
    sections = _sections(card, units)
    return "\n".join(
        [
            '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{_LOADS_NOTHING}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>Engine card: {title}</title>",
            f"<style>\n{css}\n{style()}\n</style>\n</head>\n<body>\n<main>",
            *_title_block(card, units),
            "<nav>",
            *(f'<a href="#part-{number}">{escape(head)}</a>' for number, (head, _, _) in enumerate(sections, start=1)),
            "</nav>",
            *_written(sections),
            f"<footer><p>Worked out by scribeline {__version__}. This page loads nothing from anywhere.</p></footer>",
            "</main>\n</body>\n</html>\n",
        ]
    )


_Section = tuple[str, str, Iterator[str]]


def _sections(card: EngineCard, units: Units) -> list[_Section]:
    """Heading, class and content of every section, in the order of the page."""
    out = card.out
    numbers = _Numbers(card, units)
    sections: list[_Section] = [
        ("Warnings", "beside", _warnings(card, units)), ("Drawings", "", _drawings(card, units))
    ]  # fmt: skip
    for topic, lines in groupby(out.values.values(), key=lambda worked: worked.topic):
        sections.append((topic, "beside", numbers.topic(list(lines))))
    if out.agreements:
        twice = (agreement_text(out, one, units) + "." for one in out.agreements)
        sections.append(("Measured twice", "beside", _list(twice)))
    sections.append(("Assumed, because nobody measured it", "beside", _assumed(card, units)))
    cautions = (with_inches(caution.text, units) for caution in card.cautions)
    sections.append(("Cautions", "beside", _list(cautions)))
    return sections


def _written(sections: Sequence[_Section]) -> Iterator[str]:
    for number, (heading, kind, content) in enumerate(sections, start=1):
        yield f'<section id="part-{number}" class="{kind}">\n<h2>{escape(heading)}</h2>\n<div>'
        yield from content
        yield "</div>\n</section>"


def _title_block(card: EngineCard, units: Units) -> Iterator[str]:
    out = card.out
    yield f'<header class="block">\n<div>\n<h1>{escape(out.record.name)}</h1>'
    if out.record.invented:
        yield '<p class="invented">Invented for demonstration: no such engine exists.</p>'
    if out.record.note:
        yield f'<p class="quiet">{escape(out.record.note)}</p>'
    covers = "Each +/- covers about 95 %." if out.draws else "Worked out without +/-."
    yield f'<p class="quiet">Worked out at {out.record.speed_rpm:g} rpm. {covers} Open a number to see its working.</p>'
    yield f'<p class="printed">{_NOT_TO_SCALE}</p>\n</div>\n<dl>'
    for name, words in _CHIEF:
        worked = out.values.get(name)
        if worked is not None and worked.value is not None:
            number, mark, width = show_in(worked.value, worked.unit, worked.plus_minus, units).partition(" ± ")
            within = f" <small>± {escape(width)}</small>" if mark else ""
            yield f"<div><dt>{words}</dt><dd>{escape(number)}{within}</dd></div>"
    yield "</dl>\n</header>"


def _warnings(card: EngineCard, units: Units) -> Iterator[str]:
    yield from (f"<p>{escape(with_inches(statement.text, units))}</p>" for statement in card.statements)
    if not card.warnings:
        yield "<p>No common-practice limit is passed.</p>"
    for warning in card.warnings:
        kind = source(warning.source).kind
        yield f'<div class="warning{" certain" if warning.certain else ""}">'
        message = escape(with_inches(warning.message, units))
        yield f'<p><strong>{message}</strong> <span class="quiet">({kind})</span></p>'
        yield f"<p>{escape(with_inches(_capital(warning.remedy), units))}.</p></div>"
    if card.not_held:
        yield f'<p class="quiet">{escape(with_inches(card.not_held, units))}</p>'


def _drawings(card: EngineCard, units: Units) -> Iterator[str]:
    yield '<p class="quiet">The drawings fill the page: a scale that is written in one of them does not hold here.</p>'
    for drawing in engine_drawings(card.out, units):
        wide_mm = extent(drawing).width
        slides = ' <span class="slide">Slide it sideways to see all of it.</span>' if wide_mm > _NARROW_MM else ""
        kind = "sheet wide" if slides else "sheet"
        svg = write_svg(drawing, inline=True)
        yield f'<figure>\n<div class="{kind}" style="--mm:{wide_mm:.1f}" tabindex="0">{svg}</div>'
        yield f"<figcaption>{escape(drawing.title)}.{slides}"
        yield f'<span class="printed">{_NOT_TO_SCALE}</span></figcaption>\n</figure>'


class _Numbers:
    """The numbers of a card as lines that open; each input that was worked out leads to its own line."""

    def __init__(self, card: EngineCard, units: Units) -> None:
        self.out, self.units = card.out, units
        self.ids = {name: f"number-{count}" for count, name in enumerate(card.out.values, start=1)}

    def topic(self, lines: list[Worked]) -> Iterator[str]:
        """One heading's lines: each port's under its name, the steps on the way folded up behind them."""
        for port, group in groupby(lines, key=self._port):
            of_port = list(group)
            if port:
                yield f"<h3>{escape(_capital(port))}</h3>"
            for worked in of_port:
                if not worked.inner:
                    yield from self._line(worked, port)
            if any(worked.inner for worked in of_port):
                yield '<details class="steps"><summary>steps on the way</summary><div>'
                for worked in of_port:
                    if worked.inner:
                        yield from self._line(worked, port)
                yield "</div></details>"

    def _port(self, worked: Worked) -> str:
        """The port that a line of the topic on ports is about, or nothing."""
        names = (port.name for port in self.out.record.ports if worked.topic == "Port by port")
        return next((name for name in names if worked.label.startswith(f"{name}: ")), "")

    def _line(self, worked: Worked, port: str) -> Iterator[str]:
        label = _capital(worked.label.removeprefix(f"{port}: ") if port else worked.label)
        value, units = worked.value, self.units
        number = "none" if value is None else show_in(value, worked.unit, worked.plus_minus, units)
        yield f'<details id="{self.ids[worked.name]}"><summary><span class="label">{escape(label)}</span>'
        yield f'<span class="leader"></span><span class="number">{escape(number)}</span></summary>'
        if worked.value is None:
            yield f'<div class="working"><p>{escape(_capital(worked.why_absent))}.</p>'
            yield f"<p><code>{escape(worked.name)}</code></p></div></details>"
            return
        yield f'<dl class="working"><dt>formula</dt><dd class="formula">{escape(worked.formula)}</dd>'
        put = "with your numbers" + (", lengths in mm" if units == "inch" else "")
        yield f'<dt>{put}</dt><dd class="formula">{escape(put_in(self.out, worked))}</dd>'
        yield "<dt>what went in</dt><dd><ul>"
        yield from (self._input(symbol, name) for symbol, name in worked.inputs.items())
        yield f"</ul></dd><dt>source</dt><dd>{escape(source(worked.source).text)}</dd>"
        yield f"<dt>name</dt><dd><code>{escape(worked.name)}</code></dd></dl></details>"

    def _input(self, symbol: str, name: str) -> str:
        value, plus_minus, unit = number_of(self.out, name)
        kind, words = where_from(self.out, name)
        if name in self.ids:
            words = f'<a href="#{self.ids[name]}">{escape(words)}</a>'
        else:
            words = f"{escape(words)} <code>{escape(name)}</code>"
        number = escape(show_in(value, unit, plus_minus, self.units))
        return f'<li><span class="formula">{escape(symbol)}</span> = {number}; {kind}: {words}</li>'


def _assumed(card: EngineCard, units: Units) -> Iterator[str]:
    yield "<ul>"
    for one in (one for one in card.out.assumed.values() if not one.chosen):
        number = show_in(one.value, one.unit, one.plus_minus or None, units)
        yield f"<li><code>{escape(one.name)}</code> = {escape(number)}: {escape(one.reason)}</li>"
    for width, places in by_usual_plus_minus(card.out, units).items():
        yield f"<li>{escape(width)}: {', '.join(f'<code>{escape(place)}</code>' for place in places)}</li>"
    yield "</ul>"


def _list(sentences: Iterator[str]) -> Iterator[str]:
    yield "<ul>"
    yield from (f"<li>{escape(_capital(one))}</li>" for one in sentences)
    yield "</ul>"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
