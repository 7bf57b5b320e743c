"""Files dropped onto the page: laid down, read by a worker process that may die of them, kept with what was read."""

import asyncio
from collections.abc import AsyncIterator, Mapping
from pathlib import Path
from typing import Any

from nicegui import events, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.trial_adding import Reading, keep_file, read_run, reading_of
from scribeline.tasks.trial_columns import look_at_table, meanings
from scribeline.tasks.trial_sound import told_of_sound
from scribeline.tasks.trial_views import recordings_of
from scribeline.tasks.trials import content_of
from scribeline.web.pages.prove.open_trial import OpenTrial, field
from scribeline.web.shell import button, said, text
from scribeline.web.uploads import Upload, shown_name

HEAD_BYTES = 4096
TABLES = (".csv", ".tsv", ".txt", ".log")
MARKS = {"": "as the file shows", ".": "a point: 4.89", ",": "a comma: 4,89"}
UNITS = {"": "as the headings say", "km/h": "km/h", "m/s": "m/s", "mph": "mph", "kn": "kn"}

_ON_THE_WAY = """
    <ul class="on-the-way" aria-live="polite">
      <li v-for="one in props.files" :key="one.__key">
        <template v-if="one.__status === 'failed'">
          {{ one.name }} did not arrive: the connection broke. Everything else is kept. Send it again.
          <button type="button" class="in-table" @click="props.removeFile(one)"
            :aria-label="`Put ${one.name} away`">Put it away</button>
        </template>
        <template v-else>
          {{ one.name }} is being sent<span aria-hidden="true">: {{ Math.round(100 * (one.__progress || 0)) }} %</span>
        </template>
      </li>
    </ul>
"""
"""Files that this browser is sending: only it knows of them until they are here."""


def bring_in(trial: OpenTrial) -> None:
    """What was driven, then the files; below, what became of each."""
    text("Logs (GPX, FIT, NMEA), tables of a logger or of gate times, films and sound: as many at once as you like.")
    with ui.element("div").classes("fields"):
        setup = field("Setup that was driven", draft=f"{trial.name}: setup", hint="such as: as bought")
        direction = field(
            "Direction",
            draft=f"{trial.name}: direction",
            hint="such as: out; left empty, it is taken from the recording",
        )
    with ui.element("details"):
        text("About a sound, and about clocks", "summary")
        with ui.element("div").classes("fields"):
            speeds = field(
                "Engine speeds that can be in it", draft=f"{trial.name}: speeds", hint="such as 2000 to 12000"
            )
            camera = _chosen("Where the camera was", {"on board": "on board", "standing": "standing beside the track"})
            strokes = _chosen("Strokes", {2: "two", 4: "four"})
            cylinders = _chosen("Cylinders", {0: "as the record says", 1: "1", 2: "2", 3: "3", 4: "4"})
            road = _chosen("Road speed during it", {0: "none: by ear alone"})
            offset = field(
                "Hours ahead of UTC",
                draft=f"{trial.name}: offset",
                hint="of local stamps, where a file does not say it",
            )

    def told() -> dict[str, Any]:
        sound = told_of_sound(
            cylinders.value or None, strokes.value if strokes.value != 2 else None, speeds.value or None,
            camera.value if camera.value != "on board" else None,
        )  # fmt: skip
        hours = str(offset.value or "").strip().replace(",", ".")
        return {
            "setup": str(setup.value or "").strip(),
            "direction": str(direction.value or "").strip(),
            "sound": sound,
            "utc_offset_h": float(hours) if hours else None,
            "road": int(road.value or 0),
        }

    def show() -> None:
        roads = {one.number: f"{one.number} {one.file_name}" for one in recordings_of(trial.now) if not one.heard}
        options = {0: "none: by ear alone"} | roads
        road.set_options(options, value=road.value if road.value in options else 0)

    trial.on_change(show)

    # The framework's own mark for choosing files has no words, and holds one control inside another.
    ui.html('<button type="button" class="in-table" data-choose>Choose files</button>', sanitize=False)
    drop = ui.upload(label="or drop them here", multiple=True, auto_upload=True)
    drop.classes("drop").props('flat square bordered accept="*/*"')
    drop.add_slot("list", _ON_THE_WAY)
    # What has come in has its own line below. Nothing else is taken off the list: the others may still be on their way.
    drop.on("uploaded", js_handler=f"() => getElement({drop.id}).$refs.qRef.removeUploadedFiles()")
    listed = ui.element("ul").classes("ruled-list brought").props("aria-live=polite")

    async def came(event: events.UploadEventArguments) -> None:
        with listed, ui.element("li") as place:
            one = _Brought(trial, place)
        await one.take(event, told)

    drop.on_upload(came)


class _Brought:
    """One file on its way in, and its line on the page."""

    def __init__(self, trial: OpenTrial, place: ui.element) -> None:
        self.trial, self.place = trial, place
        self.called = "A file"
        self.upload: Upload | None = None
        trial.page.client.on_delete(self.let_go)

    async def take(self, event: events.UploadEventArguments, told: Any) -> None:
        """Lay it down, then read it as it was told."""
        state = self.trial.page.state
        self.called = shown_name(event.file.name)
        self._say(f"{self.called}: coming in")
        try:
            self.upload = await state.incoming.take(event.file.iterate(), event.file.name, ["recording"])
            await self.read(**told())
        except (ScribelineError, ValueError) as refusal:
            self._refused(str(refusal))

    async def read(self, *, road: int = 0, **told: Any) -> None:
        """Have it read by a worker; keep it, or say why not. road : entry of the road speed beside a sound, or 0."""
        upload, page = self.upload, self.trial.page
        assert upload is not None
        self._say(f"{upload.name}: being read")
        try:
            head = await asyncio.to_thread(_head, upload)
            reading = await asyncio.to_thread(reading_of, self.trial.where, self.trial.name, upload.name, head, **told)
            beside = await self._beside(road)
            job = page.state.workers.start(
                read_run, upload.path, reading, beside.path if beside else None,
                road_called=beside.name if beside else "", what=f"Reading {upload.name}", limits=upload.kind.limits,
                quick=True,
            )  # fmt: skip
            await job.wait()
            if beside is not None:
                beside.discard()
            if job.state in ("died", "stopped"):  # nothing was learned of the file, so nothing can be asked about it
                self._refused(job.error or "")
                self.let_go()
                return
            if job.state != "done":
                await self._not_understood(reading, job.error or "", told | {"road": road})
                return
            added = await self.trial.do(keep_file, self.trial.name, reading, job.result, upload.path)
        except ScribelineError as refusal:
            self._refused(str(refusal))
            return
        if added is None:
            self._refused("It was read, and could not be kept.")
            return
        thing = "rows" if added.format.startswith("gate") else "pulls"
        thing = thing if added.runs != 1 else thing[:-1]
        self.place.clear()
        with self.place:
            text(f"{upload.name}: added, {added.runs} {thing} ({added.format})")
            for note in added.notes:
                text(note).classes("quiet")
        self.let_go()

    async def _beside(self, number: int) -> Upload | None:
        """A copy of a recording of this trial, for the worker."""
        entry = next((one for one in self.trial.now.state.files if one.number == number), None)
        if entry is None or Path(str(self.upload.name if self.upload else "")).suffix.lower() in TABLES:
            return None
        content = await asyncio.to_thread(content_of, entry, where=self.trial.where)
        return await self.trial.page.state.incoming.take(once(content), str(entry.file_name), ["recording"])

    def let_go(self) -> None:
        """The copy that came in is not needed any longer."""
        if self.upload is not None:
            self.upload.discard()

    async def _not_understood(self, reading: Reading, why: str, told: Mapping[str, Any]) -> None:
        """Say why, and let a person say what the columns of a table are."""
        assert self.upload is not None
        self._refused(why)
        if self.upload.path.suffix not in TABLES:
            self.let_go()
            return
        job = self.trial.page.state.workers.start(
            look_at_table, self.upload.path, reading.called, what="Looking at the table",
            limits=self.upload.kind.limits, quick=True,
        )  # fmt: skip
        await job.wait()
        with self.place, ui.element("div").classes("mapper"):
            text("Say what stands in it", "h3")
            chosen: dict[str, ui.select] = {}
            if job.state == "done" and job.result is not None:
                looked = job.result
                for number, header in enumerate(looked.headers):
                    samples = ", ".join(row[number] for row in looked.rows if number < len(row))
                    with ui.element("div").classes("mapper-row"):
                        with ui.element("div"):
                            text(header, "strong")
                            text(samples, "p").classes("quiet")
                        chosen[header] = _chosen(f"What {header} is", meanings(), looked.guessed[header])
            with ui.element("div").classes("fields"):
                mark = _chosen("Decimal mark", MARKS)
                unit = _chosen("Speeds without a unit are in", UNITS)

            async def again() -> None:
                columns = {header: one.value or "" for header, one in chosen.items()}
                said = dict(told) | {
                    "columns": columns if any(columns.values()) else None,
                    "decimal": mark.value or None,
                    "speed_unit": unit.value or None,
                }
                await self.read(**said)

            with ui.element("div").classes("row"):
                button("Read it so", again, kind="chief")
                button("Put it away", self._put_away)

    def _put_away(self) -> None:
        self.let_go()
        self.place.delete()

    def _say(self, words: str) -> None:
        self.place.clear()
        with self.place:
            text(words)

    def _refused(self, why: str) -> None:
        self.place.clear()
        with self.place, ui.element("div").classes("warning certain"):
            text(f"{self.called} stayed out")
            for line in said(why):
                text(line).classes("quiet")


def _head(upload: Upload) -> bytes:
    with upload.path.open("rb") as file:
        return file.read(HEAD_BYTES)


async def once(content: bytes) -> AsyncIterator[bytes]:
    """Bytes as a file that comes in brings them."""
    yield content


def _chosen(label: str, options: dict[Any, str], value: Any = None) -> ui.select:
    first = next(iter(options)) if value is None else value
    made = ui.select(options, value=first, label=label)
    return made.props("outlined square stack-label options-dense=false").classes("field")
