"""Small pieces of the plan page: tables, stale marks, numbers as this device wants them. Everything is escaped."""

from collections.abc import Callable, Sequence
from html import escape
from typing import TYPE_CHECKING, Any

from nicegui import events, ui

from scribeline.errors import Problem
from scribeline.tasks.plan_adding import amount_shown
from scribeline.tasks.plan_text import changed, numbered
from scribeline.units import as_meant, read_quantity
from scribeline.web.drawing import NOT_TO_SCALE
from scribeline.web.pages.plan.bench import Bench
from scribeline.web.shell import button, failure, in_units_here, text, text_of

if TYPE_CHECKING:
    from scribeline.plan.limits import Warning


class Html:
    """A piece of a page that is sent only where it has changed."""

    def __init__(self, tag: str = "div", classes: str = "") -> None:
        self._html = ui.html("", sanitize=False, tag=tag).classes(classes)
        self._html.set_visibility(False)
        self._shown = ""

    def show(self, content: str) -> None:
        """Other content, escaped by whoever made it."""
        if content != self._shown:
            self._shown = content
            self._html.set_content(content)
            self._html.set_visibility(bool(content))


_FEW = 5  # columns that a telephone shows side by side, below the first


def table(heads: Sequence[str], rows: Sequence[Sequence[str]], caption: str = "", *, apart: bool = False) -> str:
    """A table that slides sideways where it is wider than the screen; the first cell of a row names it.

    apart : on a telephone each row is a list of its own instead, every number beside its heading
    """
    said = f"<caption>{escape(caption)}</caption>" if caption else ""
    head = "".join(f'<th scope="col">{escape(one)}</th>' if one else "<td></td>" for one in heads)
    body = "".join(
        f'<tr><th scope="row">{escape(row[0])}</th>'
        + "".join(
            f'<td data-words="{escape(head)}">{escape(one)}</td>' for head, one in zip(heads[1:], row[1:], strict=True)
        )
        + "</tr>"
        for row in rows
    )
    label = f' role="group" aria-label="{escape(caption or "Table", quote=True)}"'
    few = f' class="few" style="--cells:{len(heads) - 1}"' if len(heads) <= _FEW else ""
    few = ' class="apart"' if apart else few
    return f'<div class="slides" tabindex="0"{label}><table{few}>{said}<tr>{head}</tr>{body}</table></div>'


def figure(drawing: Any, stale: bool = False) -> str:
    """A kept drawing: SVG that scribeline wrote."""
    wide = "drawn-on drawn-wide" if drawing["wide_mm"] > 130.0 else "drawn-on"
    kind = f"{wide} of-before" if stale else wide
    title = escape(drawing["title"], quote=True)
    return (
        f'<figure class="drawn"><div class="{kind}" style="--mm:{drawing["wide_mm"]:.1f}" tabindex="0" role="group" '
        f'aria-label="{title}">{drawing["svg"]}</div><figcaption>{title}. <span class="printed">{NOT_TO_SCALE}</span>'
        "</figcaption></figure>"
    )


STALE = "Of the plan before your last change."


def stale_mark(stale: bool) -> str:
    """The words over what is of an earlier plan."""
    return f'<p class="stale" role="status">{STALE}</p>' if stale else ""


def paragraphs(sentences: Sequence[str], tag: str = "p") -> str:
    """Sentences one below the other; lengths in them are said in inches too for whoever reads inches."""
    return "".join(f"<{tag}>{escape(in_units_here(one))}</{tag}>" for one in sentences)


def listed(sentences: Sequence[str]) -> str:
    """Sentences as a list."""
    return f"<ul>{paragraphs(sentences, 'li')}</ul>" if sentences else ""


def problem(one: Problem) -> str:
    """What is wrong, what would be accepted, what to do."""
    value, accepted = in_units_here(str(one.value)), in_units_here(one.accepted)
    return f"<p><strong>{escape(value)}</strong> is not possible. Accepted: {escape(accepted)}.</p>" + paragraphs(
        [f"{one.remedy[0].upper()}{one.remedy[1:]}."]
    )


def warning(one: "Warning", lead: str = "After this step: ") -> str:
    """A limit that is passed, or may be, and what can be done."""
    kind = "warning certain" if one.certain else "warning"
    lines = (f"{lead}{one.message}", f"{one.remedy[0].upper()}{one.remedy[1:]}.")
    return f'<div class="{kind}">{paragraphs(lines)}</div>'


def amount_text(bench: Bench, value: Any, unit: str) -> str:
    """A number in a field, in the units of this device."""
    if value is None or isinstance(value, bool) or not isinstance(value, int | float):
        return "" if value is None else str(value)
    return amount_shown(value, unit, bench.page.units)


def read_amount(bench: Bench, typed: str, unit: str) -> float:
    """A typed number; a bare one is in the units of this device. TypedValueError."""
    return read_quantity(as_meant(typed.strip(), unit, bench.page.units), unit).value  # type: ignore[arg-type]


def number_words(bench: Bench, value: float | None, unit: str) -> str:
    """A number of the card in the units of this device."""
    return numbered(value, unit, bench.page.units)


def change_words(bench: Bench, by: float | None, unit: str) -> str:
    """A change, with its sign; nothing where there is none."""
    return changed(by, unit, bench.page.units)


def fold(summary: str, *, name: str = "", of: str = "", opened: bool = False) -> ui.element:
    """A part that can be folded away, under a line of words; use it in a `with`. of : as in `text_of`

    name : by which the browser remembers whether it was unfolded, the line of words up to a colon where left out
    """
    made = ui.element("details").classes("fold").props(f'data-fold="{name or summary.partition(":")[0]}"')
    if opened:
        made.props("open")
    with made:
        if of:
            text_of(summary, of, "summary")
        else:
            text(summary, "summary")
    return made


MOST_BYTES = 512 * 1024
_TOO_LONG = (
    "The file was not taken: it is longer than 512 KB.\n    kept: everything as it is\n    what to do: choose a file "
    "that scribeline wrote"
)


def file_button(words: str, on_upload: Callable[[events.UploadEventArguments], object]) -> None:
    """A button that lets a text file be chosen; what is in it is given to `on_upload`."""
    upload = ui.upload(
        label=words, auto_upload=True, max_file_size=MOST_BYTES, max_files=1, on_upload=on_upload,
        on_rejected=lambda: failure(_TOO_LONG),
    )  # fmt: skip
    # Its own buttons have no names. One that the server knows to be hidden would take nothing.
    upload.props('accept=".toml,text/plain"').style("display: none")
    button(words, lambda: upload.run_method("pickFiles"))
