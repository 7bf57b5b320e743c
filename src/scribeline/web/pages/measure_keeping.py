"""Keeping the record in hand: as a revision with a note, to a TOML file, from a TOML file; and what still lacks."""

from collections.abc import Callable
from functools import partial
from html import escape

from nicegui import events, run, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.desk import keep_work
from scribeline.tasks.measuring_files import record_from_toml, toml_of_record
from scribeline.tasks.measuring_state import Standing
from scribeline.units import with_inches
from scribeline.web.kept import Kept
from scribeline.web.shell import StepPage, button, failure, say, text
from scribeline.web.text_input import TextInput
from scribeline.web.uploads import shown_name

_MOST_NAMED = 8


class Keeping:
    """The head of the page: how the record stands, and what can be done with it as a whole."""

    def __init__(self, page: StepPage, go_to: Callable[[str], None]) -> None:
        self._page, self._go_to = page, go_to
        self._shown: tuple[str, ...] | None = None
        with ui.element("section").classes("keeping").props('aria-label="How the record stands"'):
            with ui.element("div").classes("keeping-row"):
                self._summary = text("Looking at the record…", "p").classes("keeping-words").props("role=status")
                with ui.element("div").classes("row"):
                    self._keep = button("Keep as a revision", self._ask_note, kind="chief")
                    ui.button("Big keys", color=None).props(
                        "no-caps unelevated square data-big-keys=yes aria-pressed=false aria-controls=big-keys"
                    ).classes("button")
            self._places = Kept(ui.element("div").classes("keeping-places"), self._place)
            self._more = text("").classes("quiet")

    def show(self, standing: Standing) -> None:
        """Say what lacks and what is refused, each a way to its field."""
        missing = [(one.path, one.label) for one in standing.missing]
        units = self._page.units
        refused = [(one.path, with_inches(one.words, units)) for one in standing.refused]
        differ = [(one.paths[0] if one.paths else "", with_inches(one.words, units)) for one in standing.disagreements]
        signature = str(standing.worked_out), *(f"{path} {words}" for path, words in (*missing, *refused, *differ))
        if signature == self._shown:
            return
        self._shown = signature
        self._summary.set_text(self._words(standing))
        self._keep.set_enabled(standing.can_be_kept)
        found = [*(("refused", *one) for one in refused), *(("disagrees", *one) for one in differ),
                 *(("missing", *one) for one in missing)]  # fmt: skip
        self._places.show(list(dict.fromkeys(found[:_MOST_NAMED])))
        self._more.set_text(f"and {len(found) - _MOST_NAMED} more" if len(found) > _MOST_NAMED else "")

    def _place(self, one: tuple[str, str, str]) -> ui.button:
        """What lacks or is refused, as a way to its field."""
        kind, path, words = one
        made = button(words, partial(self._go_to, path)).classes(f"place place-{kind}")
        return made.props(f'aria-label="{escape(words)} is needed"') if kind == "missing" else made

    def cannot_say(self, why: str) -> None:
        """The judging itself broke: say so; everything else goes on."""
        self._shown = None
        self._summary.set_text(" ".join(why.split()))

    def _words(self, standing: Standing) -> str:
        lacks, wrong, differ = len(standing.missing), len(standing.refused), len(standing.disagreements)
        said = []
        if wrong:
            said.append(f"{wrong} refused")
        if lacks:
            said.append(f"{lacks} still needed")
        if differ:
            said.append(f"{differ} measured twice and not agreeing")
        if standing.can_be_kept:
            if said:
                return f"The record is whole; {said[0]}."
            return "The record is whole" + (", and what was measured twice agrees." if standing.worked_out else ".")
        return "Not whole yet: " + ", ".join(said) + ". Everything typed is saved all the same."

    def _ask_note(self) -> None:
        with (
            ui.dialog(value=True).props('aria-label="Keep as a revision"') as dialog,
            ui.element("div").classes("panel"),
        ):
            text("Keep as a revision", "h2")
            text("The record as it stands goes into the history of this cylinder, for good.")
            note = TextInput("What is it? Such as: measured after honing").props("outlined square stack-label")
            note.classes("field")

            def keep() -> None:
                dialog.close()
                try:
                    author = self._page.preferences.device or None
                    kept = keep_work(self._page.build, str(note.value or ""), author, where=self._page.state.notebook)
                except ScribelineError as refusal:
                    failure(refusal)
                    return
                self._page.state.hub.refresh(self._page.build)
                say(f"Kept as revision {kept.revision.number}")

            with ui.element("div").classes("row"):
                button("Keep it", keep, kind="chief")
                button("Not yet", dialog.close)

    def files(self) -> None:
        """The record as a whole from and to a file."""
        with ui.element("div").classes("row"):
            button("Load it from a TOML file", self._ask_file)
            button("Save it as a TOML file", self._save)

    def _save(self) -> None:
        name = shown_name(self._page.build) or "engine"
        ui.download.content(toml_of_record(self._page.desk.get("record", {})), f"{name}.toml", "application/toml")

    def _ask_file(self) -> None:
        with ui.dialog(value=True).props('aria-label="Load a record"') as dialog, ui.element("div").classes("panel"):
            text("Load a record", "h2")
            text("A TOML file takes the place of the record in hand. Undo brings back what was here.")

            async def take(event: events.UploadEventArguments) -> None:
                dialog.close()
                await self._take(event)

            upload = ui.upload(on_upload=take, auto_upload=True, max_file_size=4 * 1024**2)
            # Its own buttons have no names. One that the server knows to be hidden would take nothing.
            upload.props('accept=".toml,text/plain"').style("display: none")
            with ui.element("div").classes("row"):
                button("Choose a TOML file", lambda: upload.run_method("pickFiles"), kind="chief")
                button("Leave it", dialog.close)

    async def _take(self, event: events.UploadEventArguments) -> None:
        name = shown_name(event.file.name)
        try:
            came = await self._page.state.incoming.take(event.file.iterate(), name, ["record"])
            try:
                record = await run.io_bound(lambda: record_from_toml(came.path.read_bytes(), name))
            finally:
                came.discard()
            self._page.desk.edit("record", record, f"the record from {name}")
        except ScribelineError as refusal:
            failure(refusal)
