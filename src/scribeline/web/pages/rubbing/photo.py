"""The photograph that comes in, and its markers: found, missing, and what to do about it."""

from collections.abc import Sequence
from functools import partial
from html import escape

from nicegui import events, run, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.rubbing_review import MarkerShown, Review
from scribeline.tasks.rubbing_work import WISHES, begun_with, how_it_is_rubbed, keep_photograph, wish_typed
from scribeline.units import Units, length, typed_shown
from scribeline.web.drawing import DrawingOnPage
from scribeline.web.fields import Field, Typed
from scribeline.web.shell import StepPage, failure, in_units_here, link, said, text
from scribeline.web.uploads import KINDS


def photograph_in(page: StepPage) -> None:
    """How it is made, and where it comes in."""
    with ui.element("div").classes("beside"):
        with ui.element("div").classes("beside-main"):
            with ui.element("ol"):
                with ui.element("li"):
                    link("Print the rubbing wrap", page.url("mark-out", part="sheets"))
                    text(" at 100 % and check its bars.", "span")
                text("Rub the ports through it with a soft pencil, all of the wall between the markers.", "li")
                text("Lay it flat under glass. Photograph all of it, sharp, without glare; a tilt does no harm.", "li")
            upload = ui.upload(
                auto_upload=True,
                max_files=1,
                max_file_size=KINDS["photo"].most_bytes,
                on_upload=partial(_came_in, page),
                on_rejected=_not_taken,
            )
            upload.classes("photo-in").props('accept="image/jpeg,image/png,image/webp,image/tiff" inert')
            # the component's own buttons have no names; one of ours opens the same choice of a file, in the browser
            choose = ui.button("Choose the photograph", color=None).props("no-caps unelevated square")
            choose.classes("button button-chief").on(
                "click", js_handler=f"() => getElement({upload.id}).$refs.qRef.pickFiles()"
            )
            text("JPEG, PNG, WebP or TIFF, from the phone or a scanner.", "p").classes("quiet")
            with ui.element("details").classes("more"):
                text("The paper, and what its bars measured", "summary")
                with ui.element("div").classes("row"):
                    for key, labels, usual in WISHES:
                        label, show = labels[page.units], partial(typed_shown, units=page.units)
                        read = partial(_read, key, label, page.units)
                        field = Field(page, f"rubbing.{key}", label, read=read, show=show, numeric=True)
                        field.input.props(f'placeholder="{usual[page.units]}"')
        DrawingOnPage(how_it_is_rubbed)


def _read(key: str, label: str, units: Units, typed: str) -> Typed:
    return Typed(wish_typed(key, typed, units), f"{label.partition(',')[0]} {typed.strip() or 'as usual'}")


def _not_taken() -> None:
    most = KINDS["photo"].most_bytes // 1024**2
    failure(
        f"The file was not taken.\n    accepted: {KINDS['photo'].described}, at most {most} MiB\n"
        "    what to do: choose another, or save it smaller"
    )


async def _came_in(page: StepPage, event: events.UploadEventArguments) -> None:
    """Lay it down, keep it as a file of the build, and put it in hand."""
    try:
        upload = await page.state.incoming.take(event.file.iterate(), event.file.name, ["photo"])
        try:
            sha256 = await run.io_bound(
                keep_photograph, page.build, upload.path, upload.name, where=page.state.notebook
            )
        finally:
            upload.discard()
    except ScribelineError as refusal:
        failure(refusal)
        return
    if isinstance(event.sender, ui.upload):
        event.sender.reset()
    begun = begun_with(page.desk.desk.document, sha256 or "", upload.name)
    page.desk.edit("rubbing", begun, f"photograph of a rubbing {upload.name}")


class Markers:
    """The small photograph with its markers, and what is to be said of them."""

    def __init__(self, page: StepPage) -> None:
        self.page = page
        self.place = ui.element("div")

    def show(self, seen: Review | None, to_lay: Sequence[str] | None = None) -> None:
        """Show a photograph that was looked at; nothing for none.

        to_lay : of a flat scan, the marks that are still to be laid on it; None for a photograph with markers
        """
        self.place.clear()
        if seen is None:
            return
        with self.place:
            if to_lay:
                text(f"Still to be laid: {', '.join(to_lay).lower()}. Nothing is measured before.")
                return
            if seen.refusal:
                with ui.element("div").classes("warning certain"):
                    text("Nothing can be measured in this photograph", "h3")
                    for line in said(seen.refusal):
                        text(line.strip())
            if to_lay is None:
                self.show_markers(seen)
            for words in seen.not_found:
                text(f"No opening found for {words}.", "p").classes("warning")
            for words in seen.unlike:
                text(in_units_here(f"{words[:1].upper()}{words[1:]}."), "p").classes("warning")
            if seen.photo and to_lay is None:
                ui.html(_photo(seen), sanitize=False, tag="figure").classes("photograph")

    def show_markers(self, seen: Review) -> None:
        """How many there are, and which are not."""
        found = sum(one.found for one in seen.markers)
        name = self.page.desk.get("rubbing.name", "the photograph")
        text(f"{found} of {found + len(seen.missing)} markers found: {name}.", "p")
        if seen.refusal:
            return
        if seen.missing:
            with ui.element("div").classes("warning"):
                text(f"Missing, framed with dashes: {', '.join(map(str, seen.missing))}. The others are enough here.")
                text("If pencil, glare or a finger covers them, take another picture: every marker makes it surer.")
        else:
            text(f"They lie in one plane: {length(seen.residual_mm, self.page.units)} left over.")


def _photo(seen: Review) -> str:
    wide, high = seen.photo_px
    boxes = "".join(map(_marker, seen.markers))
    words = f"The photograph, made small, with {sum(one.found for one in seen.markers)} markers framed"
    return (
        f'<svg viewBox="0 0 {wide} {high}" role="img" aria-label="{escape(words)}">'
        f'<image href="{seen.photo}" width="{wide}" height="{high}"/>{boxes}</svg>'
    )


def _marker(one: MarkerShown) -> str:
    points = " ".join(f"{x:g},{y:g}" for x, y in one.corners)
    if one.found:
        return f'<polygon class="marker-found" points="{points}"/>'
    x, y = (sum(each) / len(one.corners) for each in zip(*one.corners, strict=True))
    return (
        f'<polygon class="marker-missing" points="{points}"/>'
        f'<text class="marker-missing" x="{x:g}" y="{y:g}">{one.number}</text>'
    )
