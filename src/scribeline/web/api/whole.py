"""The notebook as a whole, and records by themselves: out as one zip and in again, judged, described."""

import secrets
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import FileResponse
from starlette.background import BackgroundTask

from scribeline.tasks import answers_files, cylinders, notebook, records
from scribeline.web.api.jobs import answered, outcome
from scribeline.web.api.records import Held
from scribeline.web.api.shapes import Demonstration, MovedShape
from scribeline.web.api.wishes import RecordText

router = APIRouter()


@router.get(
    "/notebook.zip",
    tags=["notebook"],
    response_class=Response,
    responses={200: {"content": {"application/zip": {}}}},
)
async def export_notebook(state: Held) -> Response:
    """The whole notebook in one zip of TOML, JSON and files."""
    path = state.incoming.folder / f"notebook-{secrets.token_hex(8)}.zip"
    await run_in_threadpool(notebook.export_notebook, path, where=state.notebook)
    headers = {"content-disposition": "attachment; filename*=UTF-8''scribeline-notebook.zip"}
    done = BackgroundTask(path.unlink, missing_ok=True)
    return FileResponse(path, media_type="application/zip", headers=headers, background=done)


@router.post(
    "/notebook.zip",
    status_code=201,
    tags=["notebook"],
    openapi_extra={"requestBody": {"content": {"application/zip": {}}, "required": True}},
)
async def import_notebook(request: Request, state: Held) -> MovedShape:
    """Read an exported zip, sent as the body, into this notebook, which must be empty: everything, or nothing."""
    upload = await state.incoming.take(request.stream(), "notebook.zip", ["notebook"])
    try:
        moved = await run_in_threadpool(notebook.import_notebook, upload.path, where=state.notebook)
    finally:
        upload.discard()
    return MovedShape.model_validate(moved)


@router.post("/demonstration", status_code=201, tags=["notebook"])
async def begin_demonstration(state: Held) -> Demonstration:
    """Keep an invented engine with its whole story, to try every step on."""
    begun = await run_in_threadpool(cylinders.begin_demonstration, where=state.notebook)
    return Demonstration(build=begun.build)


@router.post("/records/check", tags=["records"], response_model=dict[str, Any])
async def check_record(wish: RecordText, state: Held) -> Response:
    """Whether a record can be read and could be a real engine; every reason why not."""
    job = state.workers.start(answers_files.check, wish.record_toml, what="The record", quick=True)
    return answered(await outcome(job))


@router.get("/records/schema", tags=["records"], response_model=dict[str, Any])
def record_schema() -> Response:
    """The JSON Schema of an engine record."""
    return Response(records.record_schema(), media_type="application/json")
