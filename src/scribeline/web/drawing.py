"""A drawing on a page: inline SVG in the page's own colours, redrawn in place."""

from collections.abc import Callable
from html import escape

from nicegui import ui

from scribeline.tasks.inline_drawings import InlineDrawing

NOT_TO_SCALE = "This print is not to scale. Do not cut metal to it."


class DrawingOnPage:
    """A figure that shows what `make` gives, and its reason where there is nothing to draw.

    make : the drawing now, or the sentence why there is none
    """

    def __init__(self, make: Callable[[], InlineDrawing | str], *, caption: bool = True) -> None:
        self._make, self._caption = make, caption
        self._shown = ""
        self._html = ui.html("", sanitize=False, tag="figure").classes("drawn")
        self.redraw()

    def redraw(self) -> None:
        """Draw again; nothing is sent where the drawing is the same."""
        made = self._make()
        text = f'<p class="quiet">{escape(made)}</p>' if isinstance(made, str) else self._figure(made)
        if text != self._shown:
            self._shown = text
            self._html.set_content(text)

    def _figure(self, drawing: InlineDrawing) -> str:
        kind = "drawn-on drawn-wide" if drawing.slides else "drawn-on"
        title = escape(drawing.title, quote=True)
        caption = f"{title}. " if self._caption else ""
        return (
            f'<div class="{kind}" style="--mm:{drawing.wide_mm:.1f}" tabindex="0" role="group" aria-label="{title}">'
            f"{drawing.svg}</div>"
            f'<figcaption>{caption}<span class="printed">{NOT_TO_SCALE}</span></figcaption>'
        )
