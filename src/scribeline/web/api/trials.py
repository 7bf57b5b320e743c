"""Trials: days of test runs, and what they prove."""

from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Query, Request, Response

from scribeline.tasks import answers
from scribeline.tasks import trials as tasks
from scribeline.web.api.answers import outcome
from scribeline.web.api.records import Held
from scribeline.web.api.shapes import AddedShape, CompareWish, NewTrial, TrialShape

if TYPE_CHECKING:
    from scribeline.notebook import Trial

router = APIRouter()


@router.get("/trials", tags=["trials"])
def list_trials(state: Held) -> list[TrialShape]:
    """Every trial in the notebook."""
    return [_shape(summary.trial) for summary in tasks.list_trials(where=state.notebook)]


@router.post("/trials", status_code=201, tags=["trials"])
def begin_trial(new: NewTrial, state: Held) -> TrialShape:
    """Begin a trial on a build."""
    made = tasks.new_trial(
        new.name, build=new.build, revision=new.revision, note=new.note, gates=new.gates, air=new.air, band=new.band,
        way=new.way, where=state.notebook,
    )  # fmt: skip
    return _shape(made)


@router.get("/trials/{trial}", tags=["trials"], response_model=dict[str, Any])
async def show_trial(trial: str, state: Held) -> Response:
    """A trial as it stands, with every run measured."""
    job = state.workers.start(answers.trial, trial, state.notebook.address, what="The trial", quick=True)
    return Response(await outcome(job), media_type="application/json")


@router.post(
    "/trials/{trial}/files",
    status_code=201,
    tags=["trials"],
    openapi_extra={"requestBody": {"content": {"application/octet-stream": {}}, "required": True}},
)
async def add_file(
    trial: str,
    request: Request,
    state: Held,
    name: str,
    setup: Annotated[str, Query(description="what was driven, such as before")] = "",
    direction: Annotated[str, Query(description="out or back, where the wind counts")] = "",
) -> AddedShape:
    """Read a recording, sent as the body, into a trial. It is decoded in a worker process."""
    upload = await state.incoming.take(request.stream(), name, ["recording"])
    try:
        job = state.workers.start(
            answers.add_recording, trial, upload.path, upload.name, setup, direction, state.notebook.address,
            what=f"Reading {upload.name}", limits=upload.kind.limits,
        )  # fmt: skip
        return AddedShape(**await outcome(job))
    finally:
        upload.discard()


@router.post("/comparisons", tags=["trials"], response_model=dict[str, Any])
async def compare(wish: CompareWish, state: Held) -> Response:
    """By how much setups differ, how sure that is, and what more runs would give."""
    job = state.workers.start(
        answers.compare, wish.trials, wish.setups, wish.measure, state.notebook.address, what="The comparison"
    )
    return Response(await outcome(job), media_type="application/json")


def _shape(trial: "Trial") -> TrialShape:
    return TrialShape(
        name=trial.name, build=trial.build_name, revision=trial.revision_number, note=trial.note,
        created_at=trial.created_at,
    )  # fmt: skip
