"""A flat scan without markers: the marks that are laid on it by hand, and the rule that gives its scale."""

import json
from functools import partial
from html import escape
from typing import Any

from nicegui import events, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.rubbing_review import Review
from scribeline.tasks.rubbing_scan import MARKS, apart_typed, mark_at
from scribeline.units import Units, typed_shown, unit_of
from scribeline.web.fields import Field, Typed
from scribeline.web.shell import StepPage, failure, text

_START = {
    "deck-left": (0.2, 0.15), "deck-right": (0.8, 0.15), "middle": (0.5, 0.6), "rule-one": (0.2, 0.9),
    "rule-other": (0.8, 0.9),
}  # fmt: skip


class ScanBoard:
    """The scan with its marks. It stays while the scan is read anew, so that a mark can be set step by step."""

    def __init__(self, page: StepPage) -> None:
        self.page = page
        self.shown = ""
        self.box = ui.checkbox("It is a flat scan without markers", on_change=self.choose).classes("big-box")
        with ui.element("div") as self.all:
            text(
                "Choose one mark after the other and tap where it is: the two ends of the deck line, a place straight "
                "below the exhaust's middle, and two marks of a rule that lies beside the rubbing."
            )
            self.place = ui.element("div")
            label = {units: f"Between the rule's two marks, {unit_of(units)}" for units in ("mm", "inch")}[page.units]
            field = Field(page, "rubbing.scan.apart", label, read=partial(_apart, page.units),
                          show=partial(typed_shown, units=page.units), numeric=True)  # fmt: skip
            field.input.props('hint="Left empty, the scale is taken from the file, where the scanner wrote it."')
        ui.on("scan_marked", self.marked)

    @property
    def kept(self) -> Any:
        return self.page.desk.get("rubbing.scan")

    def choose(self) -> None:
        """With markers or without: the page reads the picture anew."""
        if bool(self.box.value) != isinstance(self.kept, dict):
            what = "a flat scan without markers" if self.box.value else "a photograph with markers"
            self.page.desk.edit("rubbing.scan", {"marks": {}} if self.box.value else None, what)

    def refresh(self, seen: Review | None) -> None:
        """Show the scan that was looked at, if it is one, and its marks where they are now."""
        scanned = isinstance(self.kept, dict)
        self.box.set_value(scanned)
        self.box.set_visibility(bool(self.page.desk.get("rubbing", {}).get("photo")))
        self.all.set_visibility(scanned)
        if not scanned:
            self.place.clear()
            self.shown = ""
        elif seen is not None and seen.photo != self.shown:
            self.shown = seen.photo
            self.place.clear()
            with self.place:
                ui.html(_svg(seen, self.kept.get("marks") or {}), sanitize=False, tag="div").classes("over-rubbing")
        elif self.shown:
            self.page.client.run_javascript(f"window.scan?.show({json.dumps(self.kept.get('marks') or {})})")

    def marked(self, event: events.GenericEventArguments) -> None:
        """A mark was laid: keep where it is."""
        told = event.args if isinstance(event.args, dict) else {}
        key = str(told.get("key"))
        if key not in MARKS or not isinstance(self.kept, dict):
            return
        try:
            at = list(mark_at(told.get("at")))
        except ScribelineError as refusal:
            failure(refusal)
            return
        self.page.desk.edit(f"rubbing.scan.marks.{key}", at, f"mark of the scan: {MARKS[key]}")


def _apart(units: Units, typed: str) -> Typed:
    return Typed(apart_typed(typed, units), f"between the rule's two marks {typed.strip() or 'nothing'}")


def _svg(seen: Review, laid: dict[str, Any]) -> str:
    """The picture. static/scan.js draws the marks over it, from what stands in data-scan."""
    wide, high = seen.photo_px
    marks = [{"key": key, "name": name, "at": laid.get(key), "start": _START[key]} for key, name in MARKS.items()]
    return (
        '<div class="over-tools" role="toolbar" aria-label="Marks of the scan"></div>'
        f'<svg class="over" data-scan="{escape(json.dumps(marks), quote=True)}" viewBox="0 0 {wide} {high}" '
        'role="group" aria-label="The scan, with the marks that are laid on it">'
        f'<image href="{seen.photo}" width="{wide}" height="{high}"/></svg><p class="over-says" role="status"></p>'
    )
