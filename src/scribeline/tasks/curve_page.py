"""Power curves and traces as pages that open anywhere: drawings inline, no network. Looks as the engine card does."""

import os
from collections.abc import Iterator, Sequence
from contextlib import suppress
from html import escape
from importlib.resources import files
from pathlib import Path

from scribeline import __version__
from scribeline.engine import EngineRecord
from scribeline.errors import SheetError
from scribeline.marking.curve_plot import CurvePlot, Line, Panel, curve_plot
from scribeline.marking.drafting import extent
from scribeline.marking.png import write_png
from scribeline.marking.shapes import Drawing, Role
from scribeline.marking.svg import style, write_svg
from scribeline.models.knock import ERROR_OCTANE
from scribeline.sources import source
from scribeline.tasks.curve import COLUMNS, Column, Curve, Point, converged_words, sources_of
from scribeline.tasks.curve_sure import downward_words, fineness_words, later_words, plus_minus_words
from scribeline.tasks.curve_text import relation_words
from scribeline.tasks.trace import Trace, trace_drawings
from scribeline.tasks.trace_more import over_drawing, ports_drawing
from scribeline.units import Units, with_inches

_BY_KEY = {column.key: column for column in COLUMNS}
# What the page draws: panels of one quantity each, the first the tallest.
_DRAWN = (
    ("power_kw", 55.0, True), ("torque_nm", 32.0, True), ("delivery_ratio", 26.0, True),
    ("trapping_efficiency", 26.0, True), ("peak_bar", 26.0, True), ("exhaust_c", 26.0, False),
    ("knock_margin_octane", 26.0, True),
)  # fmt: skip
_LOADS_NOTHING = "default-src 'none'; style-src 'unsafe-inline'"


def curve_drawing(curve: Curve, other: Curve | None = None) -> Drawing:
    """Power and what makes it against crank speed; another engine's as broken lines. SheetError without any result."""
    speeds = [p.speed_rpm for one in (curve, other) if one for p in one.points]
    low, high = min(speeds), max(speeds)
    if low == high:
        low, high = low - 500.0, high + 500.0
    panels = []
    for key, height, from_zero in _DRAWN:
        column = _BY_KEY[key]
        lines = [_line(curve, column, "target")] + ([_line(other, column, "today")] if other else [])
        unit = f", {column.unit}" if column.unit else ""
        panels.append(Panel(column.heading + unit, tuple(lines), height, from_zero=from_zero))
    best = curve.best
    said = f"most power {best.got.power_w / 1e3:.2f} kilowatts at {best.speed_rpm:g} rpm" if best else "no result"
    names = curve.name + (f" (full line) against {other.name} (broken line)" if other else "")
    missing = tuple(p.speed_rpm for p in curve.points if p.result is None)
    return curve_plot(
        CurvePlot(
            "power-curve",
            f"{names}, simulated",
            f"Against crank speed: {said}.",
            "crank speed, rev/min",
            low,
            high,
            500.0 if high - low <= 6000.0 else 1000.0,
            tuple(panels),
            missing=missing,
        )
    )


def _line(curve: Curve, column: Column, role: Role) -> Line:
    values = [column.of(p) if p.result else float("nan") for p in curve.points]
    widths = curve.of_readings.of[column.key] if curve.of_readings else ()
    return Line(curve.name, role, [p.speed_rpm for p in curve.points], values, dots=True, plus_minus=widths)


def curve_page(curve: Curve, other: Curve | None = None, units: Units = "mm") -> str:
    """The curve as one page of text. units : inches stand behind millimetres for whoever reads them"""
    best = curve.best
    facts = []
    if best is not None:
        facts = [
            ("most power", f"{best.got.power_w / 1e3:.1f} kW"),
            ("at", f"{best.speed_rpm:g} rpm"),
            ("torque there", f"{best.got.torque_nm:.1f} Nm"),
            ("bmep there", f"{best.got.bmep_pa / 1e5:.1f} bar"),
        ]
    sections: list[tuple[str, str, Iterator[str]]] = []
    if curve.remarks:
        sections.append(("Outside what is known of small engines", "beside", warned(curve.remarks)))
    sections += [
        ("The curve", "", figures([curve_drawing(curve, other)])),
        ("What limits it", "beside", _limits(curve.points)),
        ("Numbers", "", _table(curve)),
    ]
    if other is not None:
        sections.append((f"Numbers of {other.name}", "", _table(other)))
    sections += _grounds(curve)
    return with_inches(page(curve.out.record, "Power curve", facts, sections), units)


def trace_page(one: Trace, other: Trace | None = None, units: Units = "mm") -> str:
    """One speed opened up, as one page of text; another engine at that speed is laid over it."""
    facts = [
        (c.heading, f"{c.of(one.point):.{c.digits}f} {c.unit}".strip())
        for c in COLUMNS if c.key in ("power_kw", "torque_nm", "delivery_ratio", "trapping_efficiency")
    ]  # fmt: skip
    sections: list[tuple[str, str, Iterator[str]]] = [
        ("What limits it here", "beside", iter([f"<p>{escape(one.point.limit)}</p>"])),
        ("Through one turn", "", figures(_of_trace(one, other, units))),
        ("Converged", "beside", iter([f"<p>{escape(converged_words(one.point))}</p>"])),
        *_grounds(one.curve),
    ]
    return with_inches(page(one.out.record, f"At {one.point.speed_rpm:g} rpm", facts, sections), units)


def _of_trace(one: Trace, other: Trace | None, units: Units) -> list[Drawing]:
    turn, waves = trace_drawings(one, units)
    if other is None:
        return [turn, ports_drawing(one), waves]
    return [over_drawing(one, other), turn, ports_drawing(one), waves, trace_drawings(other)[1]]


def write_page(content: str | bytes, path: Path) -> None:
    """Write a page, drawing or picture. SheetError where it cannot be; what stood there before is then kept."""
    unfinished = path.parent / f".page-{os.getpid()}.part"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        unfinished.write_bytes(content.encode() if isinstance(content, str) else content)
        unfinished.replace(path)
    except OSError as error:
        with suppress(OSError):
            unfinished.unlink()
        raise SheetError(
            f"{path}: {error.strerror or error}\n    accepted: a file in a folder you may write to\n"
            "    what to do: choose another name"
        ) from None


def write_drawing(drawing: Drawing, svg: Path | None, png: Path | None) -> None:
    """Write a drawing to the files that are named: as SVG, as a picture of 2000 pixels' width. Raises SheetError."""
    text = write_svg(drawing)
    if svg is not None:
        write_page(text, svg)
    if png is not None:
        write_page(write_png(text, width_px=2000), png)


def page(
    record: EngineRecord,
    what: str,
    facts: Sequence[tuple[str, str]],
    sections: Sequence[tuple[str, str, Iterator[str]]],
) -> str:
    """A page of its own: facts in its head, then sections as (heading, "" or "beside", lines of HTML)."""
    title = escape(record.name) + (" (invented)" if record.invented else "")
    css = files("scribeline.tasks").joinpath("card_page.css").read_text(encoding="utf-8")
    table = (
        "table{border-collapse:collapse;font-variant-numeric:tabular-nums}th,td{padding:.2rem .6rem;text-align:right}"
    )
    table += "th{color:var(--faint);font-weight:400;vertical-align:bottom}tr{border-bottom:1px solid var(--rule)}"
    table += ".wide-table{overflow-x:auto}th,td{overflow-wrap:normal;word-break:normal}td{white-space:nowrap}"
    table += "td small{display:block;color:var(--faint)}"
    out = [
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{_LOADS_NOTHING}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(what)}: {title}</title>",
        f"<style>\n{css}\n{table}\n{style()}\n</style>\n</head>\n<body>\n<main>",
        f'<header class="block">\n<div>\n<h1>{escape(record.name)}: {escape(what.lower())}</h1>',
    ]
    if record.invented:
        out.append('<p class="invented">Invented for demonstration: no such engine exists.</p>')
    out.append('<p class="quiet">Simulated from what was measured; no engine was run for it.</p>\n</div>\n<dl>')
    out += [f"<div><dt>{escape(name)}</dt><dd>{escape(value)}</dd></div>" for name, value in facts]
    out.append("</dl>\n</header>")
    for number, (heading, kind, content) in enumerate(sections, start=1):
        out.append(f'<section id="part-{number}" class="{kind}">\n<h2>{escape(heading)}</h2>\n<div>')
        out += [*content, "</div>\n</section>"]
    out.append(f"<footer><p>Simulated by scribeline {__version__}. This page loads nothing from anywhere.</p></footer>")
    out.append("</main>\n</body>\n</html>\n")
    return "\n".join(out)


def figures(drawings: Sequence[Drawing]) -> Iterator[str]:
    """Drawings one below the other, each with its title."""
    for drawing in drawings:
        svg = write_svg(drawing, inline=True)
        yield f'<figure>\n<div class="sheet wide" style="--mm:{extent(drawing).width:.1f}" tabindex="0">{svg}</div>'
        yield f"<figcaption>{escape(drawing.title)}.</figcaption>\n</figure>"


def _limits(points: Sequence[Point]) -> Iterator[str]:
    yield '<p class="quiet">Cost: share of a cylinderful of outside air, or of the work.</p><dl class="working">'
    for point in points:
        words = point.limit or f"No result. {point.why_not}"
        yield f"<dt>{point.speed_rpm:g} rpm</dt><dd>{escape(words)}</dd>"
    yield "</dl>"


def _table(curve: Curve) -> Iterator[str]:
    yield '<div class="wide-table" tabindex="0"><table><tr><th>rpm</th>'
    yield from (f"<th>{escape(c.heading)} {escape(c.unit)}</th>" for c in COLUMNS)
    yield "<th>converged</th></tr>"
    for i, point in enumerate(curve.points):
        if point.result is None:
            span = len(COLUMNS) + 1
            yield f'<tr><td>{point.speed_rpm:g}</td><td colspan="{span}">no result: see what limits it</td></tr>'
            continue
        cells = "".join(f"<td>{c.of(point):.{c.digits}f}{_sure(curve, c, i)}</td>" for c in COLUMNS)
        yield f"<tr><td>{point.speed_rpm:g}</td>{cells}<td>{escape(converged_words(point))}</td></tr>"
    yield "</table></div>"
    for words in (
        _knock_words(),
        *(of(curve) for of in (plus_minus_words, fineness_words, downward_words, later_words)),
    ):
        if words:
            yield f"<p>{escape(words[:1].upper() + words[1:])}.</p>"


def _knock_words() -> str:
    return f"octane needed, and the knock margin with it: ± {ERROR_OCTANE:g} at least, for comparing builds only"


def _sure(curve: Curve, column: Column, i: int) -> str:
    """The +/- of one number of the table, where one was asked for and is known."""
    width = curve.of_readings.of[column.key][i] if curve.of_readings else float("nan")
    return f" <small>±&nbsp;{width:.{column.digits}f}</small>" if width == width else ""


def warned(remarks: Sequence[str]) -> Iterator[str]:
    """Sentences that must not be overlooked."""
    yield from (f'<div class="warning certain"><p><strong>{escape(one)}</strong></p></div>' for one in remarks)


def _grounds(curve: Curve) -> list[tuple[str, str, Iterator[str]]]:
    taken = (
        f"{one.name} = {one.value:.4g} {one.unit}: {one.reason} ({source(one.source).kind})"
        for one in curve.build.taken
    )
    grounds = [
        ("Assumed, because nobody measured it", "beside", listed(taken)),
        ("Not simulated", "beside", listed(curve.build.left_out)),
        ("Relies on", "beside", listed(relation_words(one) for one in curve.relied_on)),
        ("Sources", "beside", listed(source(key).text for key in sources_of(curve))),
        ("Cautions", "beside", listed(caution.text for caution in curve.cautions)),
    ]
    if curve.left:
        beyond = listed(one.words for one in curve.left)
        grounds.insert(2, ("Beyond what a relation is known for", "beside", beyond))
    return grounds


def listed(sentences: Sequence[str] | Iterator[str]) -> Iterator[str]:
    """Sentences as a list."""
    yield "<ul>"
    yield from (f"<li>{escape(one[:1].upper() + one[1:])}</li>" for one in sentences)
    yield "</ul>"
