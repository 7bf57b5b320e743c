"""Photographs and other files of one cylinder."""

from functools import partial
from html import escape
from urllib.parse import quote

from nicegui import run, ui

from scribeline.errors import NotThereError
from scribeline.tasks.cylinders import on_the_clock
from scribeline.tasks.notebook import History, attach_named, show_build
from scribeline.tasks.photos import SIZES_PX, small_photo
from scribeline.web.dropping import drop_place
from scribeline.web.lost import no_such_cylinder
from scribeline.web.shell import begin_page, frame, link, say, section, step_url, text
from scribeline.web.state import State
from scribeline.web.uploads import Upload

_SMALL, _LARGE = SIZES_PX


def build_page(state: State, build: str) -> None:
    """Build the page."""
    begin_page(f"Photos and files: {build}")
    ui.add_head_html('<link rel="stylesheet" href="/static/home.css">')
    ui.add_head_html('<script type="module" src="/static/drop.js"></script>')
    try:
        history = show_build(build, where=state.notebook)
    except NotThereError:
        no_such_cylinder(state, build, "measure")
        return
    name = history.build.name
    with frame(name, help_page="tutorial/page-home"):
        link(f"Back to {name}", step_url(name, "measure"))
        with section("Photos and files"):
            files = history.attachments
            if files:
                ui.html(f'<ul class="photos">{"".join(map(_item, reversed(files)))}</ul>', sanitize=False)
            else:
                text("None yet. A photo of each port before the first cut cannot be taken afterwards.")
            drop_place(
                state, "Take or choose photos, or drop files here", ["photo", "record", "recording"],
                partial(_keep, state, history), several=True,
            )  # fmt: skip


def _item(file) -> str:  # type: ignore[no-untyped-def]
    place = f"{quote(file.build_name, safe='')}/{file.id}"
    name = escape(file.name, quote=True)
    of = f"revision {file.revision_number}, " if file.revision_number else ""
    about = f'<span class="quiet">{of}{on_the_clock(file.attached_at)}, {_size(file.size_bytes)}</span>'
    save = f'<a href="/file/{place}" download>Save<span class="sr-only"> {name}</span></a>'
    shown = ""
    if file.media_type.startswith("image/") and not file.media_type.startswith("image/svg"):
        shown = (
            f'<a class="photo" href="/photo/{place}/{_LARGE}"><img src="/photo/{place}/{_SMALL}" loading="lazy" '
            f'alt="Photo: {name}" width="{_SMALL}" height="{_SMALL}"></a>'
        )
    return f"<li>{shown}<span>{name}</span>{about}{save}</li>"


def _size(size_bytes: int) -> str:
    return f"{size_bytes / 1e6:.1f} MB" if size_bytes >= 1e5 else f"{size_bytes / 1e3:.1f} kB"


async def _keep(state: State, history: History, upload: Upload) -> None:
    """A photograph is decoded once before it is kept: what cannot be shown later is said now."""
    if upload.kind.name == "photo":
        job = state.workers.start(
            small_photo, upload.path, upload.name, _SMALL, what=f"Reading {upload.name}", quick=True,
            limits=upload.kind.limits,
        )  # fmt: skip
        await job.outcome()
    latest = history.revisions[-1].number if history.revisions else None
    await run.io_bound(
        attach_named, history.build.name, {upload.name: upload.path}, revision=latest, where=state.notebook
    )
    say(f"{upload.name} is kept")
    ui.navigate.reload()
