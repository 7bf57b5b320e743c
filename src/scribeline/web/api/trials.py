"""Trials: days of test runs, and what they prove."""

import tempfile
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from fastapi.concurrency import run_in_threadpool

from scribeline.tasks import answers, answers_files, notebook, trial_undo
from scribeline.tasks import trials as tasks
from scribeline.tasks.trial_anew import Told, keep_anew, reading_anew
from scribeline.tasks.trial_planning import plan_runs, plan_text
from scribeline.tasks.trial_sound import told_of_sound
from scribeline.web.api.jobs import FILE_OR_JSON, answered, begun, outcome
from scribeline.web.api.records import Held
from scribeline.web.api.shapes import AddedShape, JobShape, RunsPlan, Said, TrialShape
from scribeline.web.api.wishes import (
    CoastDown,
    CompareWish,
    NewTrial,
    PullCorrected,
    ReadAnew,
    RunDropped,
    RunsNeeded,
    TrialSettings,
    Turn,
    asked,
)
from scribeline.web.state import State
from scribeline.web.uploads import KINDS

if TYPE_CHECKING:
    from scribeline.notebook import Trial

router = APIRouter(tags=["trials"])


@router.get("/trials")
def list_trials(state: Held) -> list[TrialShape]:
    """Every trial in the notebook."""
    return [_shape(summary.trial) for summary in tasks.list_trials(where=state.notebook)]


@router.post("/trials", status_code=201)
def begin_trial(new: NewTrial, state: Held) -> TrialShape:
    """Begin a trial on a build."""
    return _shape(tasks.new_trial(**asked(new), where=state.notebook))


@router.get("/trials/{trial}", response_model=dict[str, Any])
async def show_trial(
    trial: str,
    state: Held,
    correct: Annotated[str | None, Query(description="power by iso-1585 or sae-j1349")] = None,
) -> Response:
    """A trial as it stands: files, pulls, every run measured, what was corrected, and its journal."""
    job = state.workers.start(answers.trial, trial, correct, state.notebook.address, what="The trial", quick=True)
    return answered(await outcome(job))


@router.post("/trials/{trial}/settings", status_code=204)
def set_trial(trial: str, new: TrialSettings, state: Held) -> None:
    """Say which gates are wanted, what the air was, which band of engine speeds counts."""
    tasks.set_trial(trial, **asked(new), where=state.notebook)


@router.post("/trials/{trial}/dropped-runs", status_code=201)
def drop_run(trial: str, new: RunDropped, state: Held) -> Said:
    """Drop a run with a reason, or take it back. It stays in the notebook."""
    run = tasks.drop_run(trial, new.run, new.because, back=new.back, author=new.author, where=state.notebook)
    return Said(words=f"run {run} {'taken back' if new.back else 'dropped'}")


@router.post("/trials/{trial}/pull-corrections", status_code=204)
def correct_pull(trial: str, new: PullCorrected, state: Held) -> None:
    """Correct a pull: an aborted one, brakes that dragged, a wrong gear. The recording stays as it was."""
    tasks.edit_pull(
        trial, new.pull, new.action, new.because, start_s=new.start_s, end_s=new.end_s, gear=new.gear,
        direction=new.direction, author=new.author, where=state.notebook,
    )  # fmt: skip


@router.post("/trials/{trial}/undo")
def undo(trial: str, turn: Turn, state: Held) -> Said:
    """Take the last entry of the trial's journal back."""
    return Said(words=trial_undo.undo_in_trial(trial, turn.number, author=turn.author, where=state.notebook))


@router.post("/trials/{trial}/redo")
def redo(trial: str, turn: Turn, state: Held) -> Said:
    """Bring back the entry that was undone last."""
    return Said(words=trial_undo.redo_in_trial(trial, turn.number, author=turn.author, where=state.notebook))


@router.post(
    "/trials/{trial}/files",
    status_code=201,
    openapi_extra={"requestBody": {"content": {"application/octet-stream": {}}, "required": True}},
)
async def add_file(
    trial: str,
    request: Request,
    state: Held,
    name: str,
    setup: Annotated[str, Query(description="what was driven, such as before")] = "",
    direction: Annotated[str, Query(description="out or back, where the wind counts")] = "",
    column: Annotated[list[str], Query(description="HEADING=MEANING of a column of a table")] = [],  # noqa: B006
    decimal: Annotated[str | None, Query(description="decimal mark of a table")] = None,
    speed_unit: Annotated[str | None, Query(description="of a table whose headings have none")] = None,
    utc_offset_h: Annotated[float | None, Query(description="hours that local stamps are ahead of UTC")] = None,
    cylinders: Annotated[int | None, Query(description="of a sound")] = None,
    strokes: Annotated[int | None, Query(description="of a sound: 2 or 4")] = None,
    engine_speeds: Annotated[str | None, Query(description="possible in a sound: 2000 to 12000")] = None,
    camera: Annotated[str | None, Query(description="of a sound: on board or standing")] = None,
    road: Annotated[
        str | None, Query(description="id of a file of the trial's build: the road speed during this sound")
    ] = None,
) -> AddedShape:
    """Read a recording, sent as the body, into a trial. It is decoded in a worker process."""
    told = {
        "setup": setup, "direction": direction, "column": column, "decimal": decimal, "speed_unit": speed_unit,
        "utc_offset_h": utc_offset_h,
        "sound": {"cylinders": cylinders, "strokes": strokes, "speeds": engine_speeds, "camera": camera},
    }  # fmt: skip
    upload = await state.incoming.take(request.stream(), name, ["recording"])
    try:
        with tempfile.TemporaryDirectory(prefix="scribeline-") as folder:
            laid = await _laid_down(state, _build_of(trial, state), [road], Path(folder)) if road else []
            job = state.workers.start(
                answers.add_recording, trial, upload.path, upload.name, told, laid[0] if laid else None,
                state.notebook.address, what=f"Reading {upload.name}", limits=upload.kind.limits,
            )  # fmt: skip
            return AddedShape(**await outcome(job))
    finally:
        upload.discard()


@router.post("/trials/{trial}/files/{file}/readings", status_code=201)
async def read_file_anew(trial: str, file: int, wish: ReadAnew, state: Held) -> AddedShape:
    """Read a recording of the trial anew, told better how. It counts once; decisions about its pulls are kept."""
    told = Told(
        wish.road, wish.by_ear, wish.setup, wish.direction,
        told_of_sound(wish.cylinders, wish.strokes, wish.engine_speeds, wish.camera), wish.utc_offset_h,
    )  # fmt: skip
    job = state.workers.start(
        reading_anew, trial, file, told, state.notebook.address, what="Reading it anew",
        limits=KINDS["recording"].limits,
    )  # fmt: skip
    read = await outcome(job)
    added = await run_in_threadpool(keep_anew, trial, file, read, author=wish.author, where=state.notebook)
    return AddedShape(format=added.format, runs=added.runs, notes=list(added.notes), why_not="")


@router.post("/comparisons", response_model=dict[str, Any], responses=FILE_OR_JSON)
async def compare(wish: CompareWish, state: Held) -> Response:
    """By how much setups differ, how sure that is, and what more runs would give; as tables or pictures too."""
    job = state.workers.start(answers_files.comparison, asked(wish), state.notebook.address, what="The comparison")
    return answered(await outcome(job))


@router.post("/comparisons/jobs", status_code=202)
async def begin_comparison(wish: CompareWish, request: Request, state: Held) -> JobShape:
    """The same as a job: with `predict`, each build is simulated, which takes a while."""
    job = state.workers.start(answers_files.comparison, asked(wish), state.notebook.address, what="The comparison")
    return begun(request, job)


@router.post("/runs-needed")
def runs_needed(wish: RunsNeeded) -> RunsPlan:
    """Before the day: how many runs, in which order, which way, and what to hold constant."""
    plan = plan_runs(wish.difference, wish.scatter, wish.setups, wish.unit)
    order = [{"setup": one, "direction": way} for one, way in zip(plan.order, plan.directions, strict=False)]
    return RunsPlan(runs=plan.runs, order=order, words=plan_text(plan), cautions=[asdict(c) for c in plan.cautions])


@router.post("/coast-downs", response_model=dict[str, Any])
async def coast_down(wish: CoastDown, state: Held) -> Response:
    """Rolling and air drag from letting it roll out, both ways along one road."""
    with tempfile.TemporaryDirectory(prefix="scribeline-") as folder:
        paths = await _laid_down(state, wish.build, [*wish.out, *wish.back], Path(folder))
        out, back = paths[: len(wish.out)], paths[len(wish.out) :]
        job = state.workers.start(answers_files.coast_down, out, back, wish.mass_kg, wish.air, what="The coast-down")
        return answered(await outcome(job))


def _build_of(trial: str, state: State) -> str:
    """The build that a trial is about; "" where it is about none."""
    found = (one.trial for one in tasks.list_trials(where=state.notebook))
    return next((one.build_name or "" for one in found if one.name.casefold() == trial.casefold()), "")


async def _laid_down(state: State, build: str, file_ids: Sequence[str], folder: Path) -> list[Path]:
    """Files of a build under names of our making, with the endings that they have."""
    paths = []
    for number, file_id in enumerate(file_ids, start=1):
        kept, content = await run_in_threadpool(notebook.attached_file, build, file_id, where=state.notebook)
        path = folder / f"{number}{Path(kept.name).suffix}"
        await run_in_threadpool(path.write_bytes, content)
        paths.append(path)
    return paths


def _shape(trial: "Trial") -> TrialShape:
    return TrialShape(
        name=trial.name, build=trial.build_name, revision=trial.revision_number, note=trial.note,
        created_at=trial.created_at,
    )  # fmt: skip
