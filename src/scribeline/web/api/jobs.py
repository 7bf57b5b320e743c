"""Work in the background: started by the ways in long.py and others, asked after, stopped, and its result fetched."""

import asyncio
import json
import secrets
from collections import OrderedDict
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Query, Request, Response
from fastapi.concurrency import run_in_threadpool

from scribeline.errors import NotThereError
from scribeline.tasks import records
from scribeline.tasks.answers_made import Made
from scribeline.tasks.notebook import show_revision
from scribeline.web.api.problems import Refused
from scribeline.web.api.shapes import JobShape
from scribeline.web.state import State
from scribeline.web.workers import Job

router = APIRouter()
MOST_JOBS = 50
TOGETHER_S = 60.0
"""How long a stopped job may take to bring together what it has; judgement: seconds, on a machine with other work."""

Of = Annotated[str, Query(description='"latest", "work" for the work in hand, or the number of a revision')]
FILE_OR_JSON: dict[int | str, dict[str, Any]] = {
    200: {"description": "JSON, or the file that `form` asks for", "content": {"application/octet-stream": {}}}
}


class Jobs:
    """The jobs that programs asked for, by id; the oldest are forgotten."""

    def __init__(self) -> None:
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self.within_s: dict[str, float] = {}

    def add(self, job: Job, within_s: float | None = None) -> str:
        """Remember a job. within_s : how long it may take to bring together what it has when it is stopped"""
        job_id = secrets.token_hex(8)
        self._jobs[job_id] = job
        if within_s is not None:
            self.within_s[job_id] = within_s
        while len(self._jobs) > MOST_JOBS:
            forgotten, oldest = self._jobs.popitem(last=False)
            self.within_s.pop(forgotten, None)
            oldest.stop()
        return job_id

    def __getitem__(self, job_id: str) -> Job:
        """The job with this id."""
        if job_id not in self._jobs:
            raise NotThereError(f"There is no job {job_id}.\n    what to do: start it again")
        return self._jobs[job_id]


async def outcome(job: Job) -> Any:
    """What a job came to, or had when it was stopped; nobody waits for it any more where the request ends before."""
    try:
        await job.wait()
    except asyncio.CancelledError:
        job.stop()
        raise
    found = had(job)
    if found is None and job.state != "done":
        raise Refused(job.error_kind or "JobError", job.error or "", job.problems)
    return found


def had(job: Job) -> Any:
    """What an ended job came to, or what it had told to have so far when it was stopped; None for nothing."""
    if job.result is None and job.state == "stopped" and isinstance(job.progress, dict):
        return job.progress.get("so_far")
    return job.result


def answered(found: Any) -> Response:
    """The answer for what a worker gave: JSON as it wrote it, or a file to be saved, which is never run as a page."""
    if isinstance(found, Made):
        headers = {
            "content-disposition": f"attachment; filename*=UTF-8''{quote(found.name)}",
            "content-security-policy": "sandbox; default-src 'none'",
        }
        return Response(found.data, media_type=found.media_type, headers=headers)
    return Response(found if isinstance(found, str) else json.dumps(found), media_type="application/json")


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


async def other_record(state: State, build: str, of: str | None, text: str | None) -> tuple[str, str] | None:
    """A second record: sent as text, or another one of the same build; None where neither is named."""
    if text is not None:
        return text, "the other record"
    return (await record_toml(state, build, of))[:2] if of is not None else None


def begun(request: Request, job: Job, within_s: float | None = None) -> JobShape:
    """Remember a job that was just started. within_s : as `Jobs.add`"""
    return shape_of(_jobs(request).add(job, within_s), job)


@router.get("/jobs/{job_id}", tags=["jobs"])
async def show_job(job_id: str, request: Request) -> JobShape:
    """How far a job is; of a search also the best so far."""
    return shape_of(job_id, _jobs(request)[job_id])


@router.delete("/jobs/{job_id}", status_code=202, tags=["jobs"])
async def stop_job(job_id: str, request: Request) -> JobShape:
    """Ask a job to stop. What it has by then is its result; what does not listen is ended within seconds."""
    jobs = _jobs(request)
    job = jobs[job_id]
    job.stop(jobs.within_s.get(job_id))
    return shape_of(job_id, job)


@router.get("/jobs/{job_id}/result", tags=["jobs"], response_model=Any, responses=FILE_OR_JSON)
async def result(job_id: str, request: Request) -> Response:
    """What a job came to, or had when it was stopped; it waits for the end."""
    return answered(await outcome(_jobs(request)[job_id]))


def _jobs(request: Request) -> Jobs:
    found: Jobs = request.app.state.jobs
    return found


def shape_of(job_id: str, job: Job) -> JobShape:
    """A job as programs see it."""
    return JobShape(
        id=job_id, what=job.what, state=job.state, progress=job.progress, error=job.error,
        has_result=job.ended and had(job) is not None,
    )  # fmt: skip
