"""The numbers, workings and warnings of the page as HTML; everything from a record is escaped here."""

from collections.abc import Callable, Collection, Iterable
from html import escape
from urllib.parse import quote

from scribeline.tasks.questions import Answer, Number, capital, plain, within
from scribeline.tasks.work_out_view import Input, Warned, WorkingShown


def chief(numbers: Iterable[Number]) -> str:
    """What a builder looks at first, as the cells of a title block."""
    cells = (
        f'<div data-number="{escape(one.name)}"{_moved(one)}>'
        f'<dt><a href="#{quote(one.name)}">{escape(one.label)}</a></dt>'
        f'<dd>{_value(one)}<span class="change">{escape(one.change)}</span></dd></div>'
        for one in numbers
    )
    return "".join(cells)


def answer(one: Answer, warned: Iterable[Warned]) -> str:
    """One question: its warnings, its numbers, each port's under the port's name, the steps on the way folded up."""
    parts = [f'<h3 id="question-{one.key}">{escape(one.question)}</h3>']
    parts += [f'<div id="warning-{one.key}" data-warnings="{one.key}">{warnings(warned)}</div>']
    for port, numbers in one.numbers:
        if port:
            parts.append(f"<details class=port-numbers><summary>{escape(capital(port))}</summary><div>")
        parts += [_number(number) for number in numbers if not number.inner]
        inner = [_number(number) for number in numbers if number.inner]
        if inner:
            to = _of(capital(port) if port else one.question)
            parts.append(f'<details class="steps-on-the-way"><summary>Steps on the way{to}</summary><div>')
            parts += [*inner, "</div></details>"]
        parts += ["</div></details>"] if port else []
    return "".join(parts)


def warnings(warned: Iterable[Warned]) -> str:
    """Warnings with their reason, what kind of source it has, and what can be done."""
    return "".join(
        f'<div class="warning{" certain" if one.certain else ""}"><p><strong>{escape(one.message)}</strong> '
        f'<span class="quiet">({escape(one.kind)}{"" if one.was else "; only as if"})</span></p>'
        f'<p>{escape(one.remedy)} <a href="#{quote(one.about)}">Its working{_of(one.short)}</a></p></div>'
        for one in warned
    )


def warned_in_short(warned: Collection[Warned]) -> str:
    """What each warning is about, leading to the whole of it."""
    if not warned:
        return '<p class="quiet">No common-practice limit is passed.</p>'
    return f'<p class="warned"><b>{len(warned)} warning{"s" * (len(warned) > 1)}:</b> {_in_short(warned)}</p>'


def beside(warned: Collection[Warned]) -> str:
    """The warnings that stand beside a drawing, in short."""
    if not warned:
        return ""
    certain = " certain" if any(one.certain for one in warned) else ""
    return f'<p class="warning{certain}">{_in_short(warned)}</p>'


def _in_short(warned: Iterable[Warned]) -> str:
    return "; ".join(
        f'<a href="#warning-{one.question}">{escape(one.short)}</a>{"" if one.was else " <em>as if</em>"}'
        for one in warned
    )


def reads(one: Number) -> tuple[str, str]:
    """What the browser puts in the places of a number: its value and its +/-, and its change."""
    return f"{plain(one.text)} | {within(one.text)}", one.change


def _value(one: Number) -> str:
    return (
        f'<span class="number"><span class="is">{escape(plain(one.text))}</span> '
        f'<span class="within">{escape(within(one.text))}</span></span>'
    )


def working(one: WorkingShown, measure_url: Callable[[str], str]) -> str:
    """The working of a number; measure_url : where a reading is measured, from its place."""
    if one.absent:
        return f"<p>This engine has no such number: {escape(one.absent)}</p>"
    parts = [
        f'<dl><dt>Formula</dt><dd class="formula">{escape(one.formula)}</dd>',
        f"<dt>With your numbers{', lengths in mm' if one.in_mm else ''}</dt>"
        f'<dd class="formula">{escape(one.put_in)}</dd>',
        "<dt>What went in</dt><dd><ul>",
        *(_input(given, measure_url) for given in one.inputs),
        "</ul></dd>",
    ]
    if one.makes:
        parts.append("<dt>What makes its +/-, most first</dt><dd><ol>")
        for place, words, by in one.makes:
            said = f'<a href="{escape(measure_url(place))}">{escape(words)}</a>' if place else escape(words)
            parts.append(f"<li>{said}: {escape(by)}</li>")
        parts.append("</ol></dd>")
    parts += [f"<dt>Measured twice</dt><dd>{escape(said)}</dd>" for said in one.twice]
    parts.append(f"<dt>Source</dt><dd>{escape(one.source)}</dd>")
    if one.as_if:
        parts.append(f"<dt>As if</dt><dd>{escape(one.as_if)}</dd>")
    parts.append(f"<dt>Name</dt><dd><code>{escape(one.name)}</code></dd></dl>")
    return "".join(parts)


def _input(given: Input, measure_url: Callable[[str], str]) -> str:
    words = escape(given.words)
    if given.number:
        words = f'<a href="#{quote(given.number)}">{words}</a>'
    if given.place:
        again = f"Measure it again{_of(given.words)}"
        words += f' <a href="{escape(measure_url(given.place))}">{again}</a>'
    symbol = f'<span class="formula">{escape(given.symbol)}</span> = {escape(given.text)}'
    return f"<li>{symbol}; {escape(given.kind)}: {words}</li>"


def _of(what: str) -> str:
    """Of what a link of few words is, for whoever hears the page's links one after the other."""
    return f'<span class="sr-only">: {escape(what)}</span>'


def _number(one: Number) -> str:
    return (
        f'<details class="line{" moved" if one.change else ""}" data-number="{escape(one.name)}"><summary>'
        f'<span class="label">{escape(one.label)}</span><span class="leader"></span>'
        f'{_value(one)}<span class="change">{escape(one.change)}</span></summary>'
        f'<div class="working" data-working="{escape(one.name)}"></div></details>'
    )


def _moved(one: Number) -> str:
    return ' class="moved"' if one.change else ""


def agreements(said: Iterable[tuple[str, bool]]) -> str:
    """What was measured twice, as list items; what does not agree is set off."""
    return "".join(
        f"<li>{escape(words) if agree else f'<strong>{escape(words)}</strong>'}</li>" for words, agree in said
    )


def sentences(said: Iterable[str]) -> str:
    """Plain list items."""
    return "".join(f"<li>{escape(one)}</li>" for one in said)
