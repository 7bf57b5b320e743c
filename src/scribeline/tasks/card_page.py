"""The engine card as one page that opens anywhere: drawings inline, no network, prints as text and not to scale."""

import os
from collections.abc import Iterator
from html import escape
from pathlib import Path

from scribeline import __version__
from scribeline.errors import SheetError
from scribeline.geometry.working import Worked
from scribeline.marking.svg import style, write_svg
from scribeline.sources import source
from scribeline.tasks.card import EngineCard, agreement_text, assumed, put_in
from scribeline.tasks.drawings import engine_drawings
from scribeline.units import show

_STYLE = """
:root{--paper:#fbf9f4;--ink:#1e2a33;--faint:#5f6a73;--accent:#a8321e;--rule:#cfcabd;color-scheme:light dark}
@media(prefers-color-scheme:dark){:root{--paper:#15191d;--ink:#e4ded1;--faint:#9aa2a8;--accent:#ff8f6b;--rule:#3a434b}}
*{box-sizing:border-box}
body{margin:0;background:var(--paper);color:var(--ink);font:1rem/1.5 Georgia,'Liberation Serif','DejaVu Serif',serif}
main{max-width:68rem;margin:0 auto;padding:1.5rem 1rem 4rem}
h1{font-size:1.9rem;line-height:1.2;margin:0 0 .2rem}
h2{font-size:1.15rem;margin:2.4rem 0 .6rem;padding-top:.5rem;border-top:2px solid var(--ink)}
.sub{color:var(--faint);margin:0}
figure{margin:1.4rem 0;overflow-x:auto}
figure svg{max-width:100%;height:auto;min-width:20rem}
figcaption{color:var(--faint);font-size:.9rem}
ul.plain{list-style:none;padding:0}
.warn{border-left:4px solid var(--accent);padding:.2rem 0 .2rem .8rem;margin:.8rem 0}
.warn p{margin:.1rem 0}
details{border-bottom:1px solid var(--rule)}
summary{display:flex;gap:1rem;justify-content:space-between;padding:.45rem .2rem;cursor:pointer;min-height:2.4rem;
align-items:center}
summary::marker{content:none}
summary::-webkit-details-marker{display:none}
summary .number{font-variant-numeric:tabular-nums;white-space:nowrap;font-weight:600}
summary:hover{color:var(--accent)}
summary:focus-visible,a:focus-visible{outline:3px solid var(--accent);outline-offset:2px}
.working{padding:.2rem .8rem 1rem;font-size:.95rem}
.working dt{color:var(--faint);margin-top:.4rem}
.working dd{margin:0 0 0 1rem;overflow-wrap:anywhere}
code{font-family:'DejaVu Sans Mono','Liberation Mono',monospace;font-size:.85em}
.none{color:var(--faint)}
footer{margin-top:3rem;border-top:1px solid var(--rule);color:var(--faint);font-size:.9rem}
.printed{display:none}
@media print{.printed{display:block;color:var(--accent)}}
"""


def write_card_page(card: EngineCard, path: Path) -> None:
    """Write the page. Raises SheetError where the file cannot be written; what stood there before is then kept."""
    text = card_page(card)
    unfinished = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        unfinished.write_text(text, encoding="utf-8")
        unfinished.replace(path)
    except OSError as error:
        unfinished.unlink(missing_ok=True)
        raise SheetError(
            f"{path}: {error.strerror or error}\n    accepted: a file in a folder you may write to\n"
            "    what to do: choose another name with --html"
        ) from None


def card_page(card: EngineCard) -> str:
    """The whole page as text."""
    record = card.out.record
    title = escape(record.name) + (" (invented)" if record.invented else "")
    return "\n".join(
        [
            '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>Engine card: {title}</title>",
            f"<style>{_STYLE}\n{style()}</style>\n</head>\n<body>\n<main>",
            *_head(card),
            *_warnings(card),
            *_drawings(card),
            *_numbers(card),
            *_agreements(card),
            *_assumed(card),
            *_cautions(card),
            f"<footer><p>Worked out by scribeline {__version__}. This page loads nothing from anywhere.</p></footer>",
            "</main>\n</body>\n</html>\n",
        ]
    )


def _head(card: EngineCard) -> Iterator[str]:
    record = card.out.record
    yield f"<h1>{escape(record.name)}</h1>"
    if record.invented:
        yield '<p class="sub"><strong>Invented for demonstration: no such engine exists.</strong></p>'
    if record.note:
        yield f'<p class="sub">{escape(record.note)}</p>'
    covers = "Each +/- covers about 95 %." if card.out.draws else "Worked out without +/-."
    yield f'<p class="sub">Worked out at {record.speed_rpm:g} rpm. {covers} Open a number to see its working.</p>'
    yield '<p class="printed">This print is not to scale. Do not cut metal to it.</p>'


def _warnings(card: EngineCard) -> Iterator[str]:
    yield "<h2>Warnings</h2>"
    if not card.warnings:
        yield "<p>No common-practice limit is passed.</p>"
    for warning in card.warnings:
        kind = source(warning.source).kind
        yield f'<div class="warn"><p>{escape(warning.message)} <span class="none">({kind})</span></p>'
        yield f"<p>{escape(warning.remedy[0].upper() + warning.remedy[1:])}.</p></div>"


def _drawings(card: EngineCard) -> Iterator[str]:
    yield "<h2>Drawings</h2>"
    for drawing in engine_drawings(card.out):
        yield f"<figure>{write_svg(drawing, inline=True)}<figcaption>{escape(drawing.title)}</figcaption></figure>"


def _numbers(card: EngineCard) -> Iterator[str]:
    topic = None
    for worked in card.out.values.values():
        if worked.inner:
            continue
        if worked.topic != topic:
            topic = worked.topic
            yield f"<h2>{escape(topic)}</h2>"
        yield from _number(card, worked)


def _number(card: EngineCard, worked: Worked) -> Iterator[str]:
    label = escape(worked.label)
    if worked.value is None:
        yield f"<details><summary><span>{label}</span><span class='number none'>none</span></summary>"
        yield f"<div class='working'>{escape(worked.why_absent)}</div></details>"
        return
    number = escape(show(worked.value, worked.unit, worked.plus_minus))
    yield f"<details><summary><span>{label}</span><span class='number'>{number}</span></summary><dl class='working'>"
    yield f"<dt>formula</dt><dd>{escape(worked.formula)}</dd>"
    yield f"<dt>with your numbers</dt><dd>{escape(put_in(card.out, worked))}</dd>"
    yield f"<dt>source</dt><dd>{escape(source(worked.source).text)}</dd>"
    yield f"<dt>name</dt><dd><code>{escape(worked.name)}</code></dd></dl></details>"


def _agreements(card: EngineCard) -> Iterator[str]:
    if card.out.agreements:
        yield "<h2>Measured twice</h2><ul>"
        yield from (f"<li>{escape(agreement_text(card.out, one))}.</li>" for one in card.out.agreements)
        yield "</ul>"


def _assumed(card: EngineCard) -> Iterator[str]:
    yield "<h2>Assumed, because nobody measured it</h2><ul>"
    for one in assumed(card.out):
        number = show(one["value"], one["unit"], one["plus_minus"] or None)
        yield f"<li><code>{escape(one['name'])}</code> = {escape(number)}: {escape(one['reason'])}</li>"
    yield "</ul>"


def _cautions(card: EngineCard) -> Iterator[str]:
    yield "<h2>Cautions</h2><ul>"
    yield from (f"<li>{escape(caution.text)}</li>" for caution in card.cautions)
    yield "</ul>"
