"""What is worked out from a record. It runs in the worker processes; what takes long is a job that is asked after."""

import asyncio
import json
import secrets
from collections import OrderedDict
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from fastapi.concurrency import run_in_threadpool

from scribeline.errors import NotThereError
from scribeline.tasks import answers, records
from scribeline.tasks.notebook import show_revision
from scribeline.web.api.problems import Refused
from scribeline.web.api.records import Held
from scribeline.web.api.shapes import CurveWish, JobShape, SheetsWish, WhatIf
from scribeline.web.state import State
from scribeline.web.workers import Job

router = APIRouter()
MOST_JOBS = 50

Of = Annotated[str, Query(description='"latest", "work" for the work in hand, or the number of a revision')]


class Jobs:
    """The jobs that programs asked for, by id; the oldest are forgotten."""

    def __init__(self) -> None:
        self._jobs: OrderedDict[str, Job] = OrderedDict()

    def add(self, job: Job) -> str:
        """Remember a job."""
        job_id = secrets.token_hex(8)
        self._jobs[job_id] = job
        while len(self._jobs) > MOST_JOBS:
            _, oldest = self._jobs.popitem(last=False)
            oldest.stop()
        return job_id

    def __getitem__(self, job_id: str) -> Job:
        """The job with this id."""
        if job_id not in self._jobs:
            raise NotThereError(f"There is no job {job_id}.\n    what to do: start it again")
        return self._jobs[job_id]


async def outcome(job: Job) -> Any:
    """What a job came to; nobody waits for it any more where the request ends before."""
    try:
        await job.wait()
    except asyncio.CancelledError:
        job.stop()
        raise
    if job.state != "done":
        raise Refused(job.error_kind or "JobError", job.error or "", job.problems)
    return job.result


async def record_toml(state: State, build: str, of: str) -> tuple[str, str, str]:
    """The record that is meant: its text, what it is called in refusals, and which one it is."""
    if of == "work":
        text = await run_in_threadpool(records.record_in_hand, build, where=state.notebook)
        return text, f"the work in hand on {build}", "work in hand"
    if of != "latest" and not of.isdecimal():
        raise Refused("RequestError", f'of={of}\n    accepted: "latest", "work" or the number of a revision')
    number = None if of == "latest" else int(of)
    revision, _ = await run_in_threadpool(show_revision, build, number, where=state.notebook)
    return revision.record_toml, build, f"revision {revision.number}"


def _json(text: str) -> Response:
    return Response(text, media_type="application/json")


@router.get("/builds/{build}/card", tags=["worked out"], response_model=dict[str, Any])
async def card(build: str, state: Held, of: Of = "latest", speed_rpm: float | None = None) -> Response:
    """The engine card: every derived number with its +/-, formula and source, and the warnings."""
    text, origin, _ = await record_toml(state, build, of)
    job = state.workers.start(answers.card, text, origin, speed_rpm, what="The card", quick=True)
    return _json(await outcome(job))


@router.post("/builds/{build}/what-if", tags=["worked out"], response_model=dict[str, Any])
async def what_if(build: str, wish: WhatIf, state: Held, of: Of = "latest") -> Response:
    """What a plan would move, before any metal is cut. Nothing is kept."""
    text, origin, _ = await record_toml(state, build, of)
    job = state.workers.start(
        answers.what_if, text, origin, wish.steps, wish.plan_toml, wish.cut_list, what="The plan", quick=True
    )
    return _json(await outcome(job))


@router.get("/builds/{build}/stacks", tags=["worked out"], response_model=dict[str, Any])
async def stacks(
    build: str,
    state: Held,
    of: Of = "latest",
    gaskets: Annotated[str | None, Query(examples=["base 0.5x2 0.3, head 0.8"], max_length=2000)] = None,
    tools: Annotated[str | None, Query(examples=["file, glass plate"], max_length=2000)] = None,
    most: Annotated[int, Query(ge=1, le=200)] = 8,
) -> Response:
    """Gasket stacks that set the squish, least metal first."""
    text, origin, _ = await record_toml(state, build, of)
    job = state.workers.start(answers.stacks, text, origin, gaskets, tools, most, what="The gasket stacks", quick=True)
    return _json(await outcome(job))


@router.post(
    "/builds/{build}/sheets",
    tags=["worked out"],
    response_class=Response,
    responses={200: {"content": {"application/zip": {}}}},
)
async def sheets(build: str, wish: SheetsWish, state: Held, of: Of = "latest") -> Response:
    """The sheets to print and mark out by, in one zip."""
    text, origin, revision = await record_toml(state, build, of)
    asked = wish.model_dump(include={"paper", "formats", "only", "bar_across", "bar_up"})
    job = state.workers.start(
        answers.sheets, text, origin, revision, wish.steps, wish.plan_toml, asked, what="The sheets", quick=True
    )
    return Response(await outcome(job), media_type="application/zip")


@router.post("/builds/{build}/curves", status_code=202, tags=["jobs"])
async def begin_curve(build: str, wish: CurveWish, request: Request, state: Held, of: Of = "latest") -> JobShape:
    """Have the power curve simulated in the background."""
    text, origin, _ = await record_toml(state, build, of)
    job = state.workers.start(
        answers.curve, text, origin, wish.speeds, wish.throttle, wish.cell_mm, what="The power curve"
    )
    return _shape(_jobs(request).add(job), job)


@router.get("/jobs/{job_id}", tags=["jobs"])
async def show_job(job_id: str, request: Request) -> JobShape:
    """How far a job is."""
    return _shape(job_id, _jobs(request)[job_id])


@router.delete("/jobs/{job_id}", status_code=202, tags=["jobs"])
async def stop_job(job_id: str, request: Request) -> JobShape:
    """Ask a job to stop; what does not listen is ended within seconds."""
    job = _jobs(request)[job_id]
    job.stop()
    return _shape(job_id, job)


@router.get("/jobs/{job_id}/result", tags=["jobs"], response_model=Any)
async def result(job_id: str, request: Request) -> Response:
    """What a job came to; it waits for the end."""
    found = await outcome(_jobs(request)[job_id])
    return _json(found if isinstance(found, str) else json.dumps(found))


def _jobs(request: Request) -> Jobs:
    found: Jobs = request.app.state.jobs
    return found


def _shape(job_id: str, job: Job) -> JobShape:
    return JobShape(id=job_id, what=job.what, state=job.state, progress=job.progress, error=job.error)
