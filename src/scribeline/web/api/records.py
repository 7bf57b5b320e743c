"""Builds, their revisions, the work in hand, and their files."""

from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Depends, Query, Request, Response
from fastapi.concurrency import run_in_threadpool

from scribeline.tasks import desk as tasks
from scribeline.tasks import notebook
from scribeline.tasks.answers_made import laid_down
from scribeline.web.api.shapes import (
    BuildShape,
    ChangeShape,
    EditShape,
    FileShape,
    NewBuild,
    NewEdit,
    NewStep,
    RevisionShape,
    ToKeep,
    WorkShape,
)
from scribeline.web.guard import device_of
from scribeline.web.state import State

if TYPE_CHECKING:
    from scribeline.notebook import BuildSummary, Kept

router = APIRouter()


def state_of(request: Request) -> State:
    """What the server holds."""
    found: State = request.app.state.scribeline
    return found


Held = Annotated[State, Depends(state_of)]


def device_name(request: Request) -> str:
    """Who edits, as it is kept beside the edit."""
    device = device_of(request.scope)
    return device.name if device is not None else "a program"


Device = Annotated[str, Depends(device_name)]


@router.get("/builds", tags=["builds"])
def list_builds(state: Held) -> list[BuildShape]:
    """Every build in the notebook, by name."""
    return [_build(one) for one in notebook.list_builds(where=state.notebook)]


@router.post("/builds", status_code=201, tags=["builds"])
async def begin_build(new: NewBuild, state: Held, device: Device) -> WorkShape:
    """Begin a cylinder. It has no revision until its work is kept."""
    begun = await run_in_threadpool(
        tasks.begin_build, new.name, new.record, new.note, device=device, where=state.notebook
    )
    return WorkShape.model_validate(begun)


@router.get("/builds/{build}", tags=["builds"])
def show_build(build: str, state: Held) -> BuildShape:
    """One build."""
    name = notebook.show_build(build, where=state.notebook).build.name
    return next(_build(one) for one in notebook.list_builds(where=state.notebook) if one.build.name == name)


@router.get("/builds/{build}/revisions", tags=["builds"])
def list_revisions(build: str, state: Held) -> list[RevisionShape]:
    """Every revision of a build, oldest first."""
    found = notebook.show_build(build, where=state.notebook).revisions
    return [RevisionShape.model_validate(_kept(one)) for one in found]


@router.get("/builds/{build}/revisions/{number}", tags=["builds"])
def show_revision(build: str, number: int, state: Held) -> RevisionShape:
    """One revision."""
    revision, _ = notebook.show_revision(build, number, where=state.notebook)
    return RevisionShape.model_validate(_kept(revision))


@router.post("/builds/{build}/revisions", status_code=201, tags=["builds"])
async def keep_work(build: str, to_keep: ToKeep, state: Held) -> RevisionShape:
    """Keep the record in hand, or one that is sent, as the next revision; refused where it is of no possible engine.

    A record that is sent begins the build where there is none of this name.
    """
    if to_keep.record_toml is None:
        kept = await run_in_threadpool(tasks.keep_work, build, to_keep.note, to_keep.author, where=state.notebook)
    else:
        kept = await run_in_threadpool(_keep_text, build, to_keep.record_toml, to_keep, state)
    state.hub.refresh(build)
    return RevisionShape.model_validate(_kept(kept.revision))


@router.get("/builds/{build}/changes", tags=["builds"])
def changes(
    build: str,
    state: Held,
    before: Annotated[int | None, Query(description="the one that `after` was made from, where left out")] = None,
    after: Annotated[int | None, Query(description="the latest, where left out")] = None,
) -> list[ChangeShape]:
    """What changed from one revision to another, field by field."""
    found = notebook.compare_revisions(build, before, after, where=state.notebook)
    return [ChangeShape(path=path, before=old, after=new) for path, old, new in notebook.plain_changes(found)]


@router.get("/builds/{build}/in-hand", tags=["work in hand"])
def work_in_hand(build: str, state: Held) -> WorkShape:
    """The work in hand on a build, with what undo and redo would do."""
    return WorkShape.model_validate(tasks.desk_of(build, where=state.notebook))


@router.get("/builds/{build}/in-hand/edits", tags=["work in hand"])
def edits(build: str, state: Held, after: Annotated[int, Query(ge=0)] = 0) -> list[EditShape]:
    """What was done to the work in hand after the edit of this number, oldest first."""
    found = tasks.edits_since(build, after, where=state.notebook)
    return [EditShape.model_validate(one) for one in found]


@router.post("/builds/{build}/in-hand/edits", status_code=201, tags=["work in hand"])
async def edit(build: str, new: NewEdit, state: Held, device: Device) -> WorkShape:
    """Make an edit. It is on the disk when the answer comes, and open pages show it."""
    made = await run_in_threadpool(
        tasks.edit, build, new.path, new.after, before=new.before, device=device, label=new.label, where=state.notebook
    )
    state.hub.refresh(made.build)
    return WorkShape.model_validate(made)


@router.post("/builds/{build}/in-hand/steps", status_code=201, tags=["work in hand"])
async def edit_several(build: str, new: NewStep, state: Held, device: Device) -> WorkShape:
    """Edit several places as one step; where one of them conflicts, nothing is kept."""
    puts = [tasks.Put(one.path, one.after, one.before) for one in new.puts]
    made = await run_in_threadpool(tasks.edit_all, build, puts, device=device, label=new.label, where=state.notebook)
    state.hub.refresh(made.build)
    return WorkShape.model_validate(made)


@router.post("/builds/{build}/in-hand/undo", tags=["work in hand"])
async def undo(build: str, state: Held, device: Device) -> WorkShape:
    """Take the last step back; no change where there is none."""
    made = await run_in_threadpool(tasks.undo, build, device=device, where=state.notebook)
    state.hub.refresh(made.build)
    return WorkShape.model_validate(made)


@router.post("/builds/{build}/in-hand/redo", tags=["work in hand"])
async def redo(build: str, state: Held, device: Device) -> WorkShape:
    """Make the last step that was taken back again; no change where there is none."""
    made = await run_in_threadpool(tasks.redo, build, device=device, where=state.notebook)
    state.hub.refresh(made.build)
    return WorkShape.model_validate(made)


@router.get("/builds/{build}/files", tags=["files"])
def list_files(build: str, state: Held) -> list[FileShape]:
    """The files of a build."""
    found = notebook.show_build(build, where=state.notebook).attachments
    return [FileShape.model_validate(_file(one)) for one in found]


@router.post(
    "/builds/{build}/files",
    status_code=201,
    tags=["files"],
    openapi_extra={"requestBody": {"content": {"application/octet-stream": {}}, "required": True}},
)
async def attach(
    build: str, request: Request, state: Held, name: str, revision: Annotated[int | None, Query()] = None
) -> FileShape:
    """Attach what is sent as the body: a photograph, a recording or a record. Its kind is told from its content."""
    upload = await state.incoming.take(request.stream(), name, ["photo", "record", "recording"])
    try:
        (kept,) = await run_in_threadpool(
            notebook.attach_named, build, {upload.name: upload.path}, revision=revision, where=state.notebook
        )
    finally:
        upload.discard()
    return FileShape.model_validate(_file(kept))


@router.get("/builds/{build}/files/{file_id}", tags=["files"], response_class=Response)
def download(build: str, file_id: str, state: Held) -> Response:
    """The content of a file. It comes as a download whatever it is: nothing that was attached runs as a page."""
    kept, content = notebook.attached_file(build, file_id, where=state.notebook)
    headers = {
        "content-disposition": f"attachment; filename*=UTF-8''{quote(kept.name)}",
        "content-security-policy": "sandbox; default-src 'none'",
    }
    return Response(content, media_type="application/octet-stream", headers=headers)


def _keep_text(build: str, record_toml: str, to_keep: ToKeep, state: State) -> "Kept":
    with laid_down({"the record": record_toml}) as folder:
        return notebook.keep_record(
            folder / "the record", build=build, note=to_keep.note, author=to_keep.author, where=state.notebook
        )


def _build(one: "BuildSummary") -> BuildShape:
    return BuildShape(
        name=one.build.name, note=one.build.note, created_at=one.build.created_at, revisions=one.revision_count,
        latest=one.last_number, last_kept_at=one.last_kept_at, files=one.file_count,
    )  # fmt: skip


def _kept(revision: Any) -> dict[str, Any]:
    return {name: getattr(revision, name) for name in RevisionShape.model_fields}


def _file(attachment: Any) -> dict[str, Any]:
    return {name: getattr(attachment, name) for name in FileShape.model_fields}
