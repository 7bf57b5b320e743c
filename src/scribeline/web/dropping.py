"""A place on a page to drop a file on, or to choose one by hand. static/drop.js sends it; `uploads` says what may."""

import inspect
import secrets
from collections.abc import Callable, Sequence
from typing import Any

from nicegui import events, ui

from scribeline.errors import ScribelineError
from scribeline.web.shell import failure, text
from scribeline.web.state import State
from scribeline.web.uploads import Upload

_ACCEPT = {"photo": "image/*", "record": ".toml", "notebook": ".zip", "recording": ""}


def drop_place(
    state: State, words: str, kinds: Sequence[str], then: Callable[[Upload], Any], *, several: bool = False
) -> None:
    """Words on a button that opens the device's chooser, on a field that takes what is dropped.

    kinds : names out of `uploads.KINDS`. then : is given what came in, one after the other, and may be a coroutine; the
    file is gone when it has returned.
    """
    place = secrets.token_hex(6)
    accept = ",".join(filter(None, (_ACCEPT[kind] for kind in kinds)))
    with ui.element("div").classes("drop-place").props(f"data-drop-place={place} data-kinds={','.join(kinds)}"):
        with ui.element("label").classes("drop-label"):
            text(words, "span")
            field = ui.element("input").props("type=file data-drop").classes("drop-input")
            if several:
                field.props("multiple")
            if accept:
                field.props(f'accept="{accept}"')
        ui.element("progress").classes("drop-progress").props('max=1 hidden aria-label="Sending the file"')
        ui.element("p").classes("drop-said").props("role=status")

    async def came_in(event: events.GenericEventArguments) -> None:
        if not isinstance(event.args, dict) or event.args.get("place") != place:
            return
        upload = state.incoming.waiting(str(event.args.get("id")))
        if upload is None:
            return
        try:
            done = then(upload)
            if inspect.isawaitable(done):
                await done
        except ScribelineError as refusal:
            failure(refusal)
        finally:
            upload.discard()

    ui.on("came_in", came_in)
