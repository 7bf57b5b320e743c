"""A recording read anew, told better how: what is left as it is stays as it was told before."""

from typing import Any

from nicegui import ui

from scribeline.errors import ScribelineError
from scribeline.tasks.trial_anew import Told, keep_anew, reading_anew
from scribeline.tasks.trial_sound import told_of_sound
from scribeline.tasks.trial_views import RecordingView, recordings_of
from scribeline.web.pages.prove.open_trial import OpenTrial, field
from scribeline.web.shell import button, failure, say, text
from scribeline.web.uploads import KINDS

AS_BEFORE, BY_EAR = "as before", "none: by ear alone"


def read_anew(trial: OpenTrial, one: RecordingView) -> None:
    """A folded form: the road speed during a sound, engine speeds, where the camera was; setup and direction."""
    with ui.element("details"):
        text("Read it anew", "summary")
        text(
            "From the file in the notebook, with what you say here; what you leave stays as it was. It counts once. "
            "What you decided about its pulls is kept where they are there still. Undo brings the earlier reading back."
        ).classes("quiet")
        with ui.element("div").classes("fields"):
            sound = _Sound(trial, one) if one.heard else None
            setup = field("Setup of this recording", one.setup)
            direction = field("Direction of this recording", one.direction)
            hours = None if one.heard else field("Its hours ahead of UTC", hint="of local stamps; empty: as before")

        async def read() -> None:
            try:
                told = sound.told() if sound is not None else {}
                utc = str(hours.value or "").strip().replace(",", ".") if hours is not None else ""
                asked = Told(
                    setup=str(setup.value or ""), direction=str(direction.value or ""),
                    utc_offset_h=float(utc) if utc else None, **told,
                )  # fmt: skip
            except ScribelineError as refusal:
                failure(refusal)
                return
            except ValueError:
                failure(f"hours typed as {utc!r}\naccepted: a number, such as 2 or -5.5\nwhat to do: write it so")
                return
            await _read(trial, one, asked)

        button("Read it anew", read, kind="chief")


class _Sound:
    """What only a sound has."""

    def __init__(self, trial: OpenTrial, one: RecordingView) -> None:
        others = [each for each in recordings_of(trial.now) if each.number != one.number and not each.heard]
        roads = {0: AS_BEFORE, -1: BY_EAR} | {each.number: f"{each.number} {each.file_name}" for each in others}
        self.road = _chosen("Road speed during this sound", roads)
        self.speeds = field("Engine speeds in this sound", hint="such as 2000 to 12000; empty: as before")
        self.camera = _chosen(
            "Where its camera was",
            {"": AS_BEFORE, "on board": "on board", "standing": "standing beside the track"},
        )

    def told(self) -> dict[str, Any]:
        """The same as `Told` takes it. Raises TrialError for engine speeds that are none."""
        road = int(self.road.value)
        return {
            "road": road if road > 0 else None,
            "by_ear": road < 0,
            "sound": told_of_sound(speeds=str(self.speeds.value or "") or None, camera=self.camera.value or None),
        }


async def _read(trial: OpenTrial, one: RecordingView, told: Told) -> None:
    page = trial.page
    say(f"{one.file_name}: being read anew")
    job = page.state.workers.start(
        reading_anew, trial.name, one.number, told, page.state.notebook.address, what=f"Reading {one.file_name} anew",
        limits=KINDS["recording"].limits, quick=True,
    )  # fmt: skip
    await job.wait()
    with page.client:  # its place may have been drawn anew meanwhile
        if job.state != "done":
            failure(job.error or "Stopped. The earlier reading stays.")
            return
    added = await trial.do(keep_anew, trial.name, one.number, job.result)
    if added is not None:
        with page.client:
            say(f"{one.file_name}: read anew, {added.runs} pull{'' if added.runs == 1 else 's'}")


def _chosen(label: str, options: dict[Any, str]) -> ui.select:
    made = ui.select(options, value=next(iter(options)), label=label)
    return made.props("outlined square stack-label").classes("field")
