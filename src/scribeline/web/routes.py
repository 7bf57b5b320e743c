"""What pages load besides themselves: small drawings, small photographs, pictures of the help, the notebook as a file;
and where files come in that are dropped on a page.

What takes time to make is made once and kept under the hash of what it was made from in the server's folder; a
photograph is decoded in a worker process. Names that a browser sends are looked up in the notebook or the documents,
and never walked along as paths.
"""

import asyncio
import contextlib
import os
import secrets
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, FastAPI, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import FileResponse, JSONResponse
from starlette.background import BackgroundTask

from scribeline.errors import JobError, NotThereError, ScribelineError, UploadError
from scribeline.tasks import documents, notebook, photos
from scribeline.tasks.desk import desk_of
from scribeline.tasks.small_drawing import small_drawing, small_drawing_in_hand
from scribeline.web.api.problems import problem
from scribeline.web.state import State
from scribeline.web.uploads import KINDS

_FOR_EVER = {"cache-control": "private, max-age=31536000, immutable"}
_DRAWN_AS = 1  # raise it when small drawings change, so that none of before is shown


def routes(state: State) -> APIRouter:
    """Them all."""
    router = APIRouter(include_in_schema=False)
    kept = Kept(state.folder / "small")
    one_at_a_time = asyncio.Semaphore(1)

    async def draw(function: Callable[[Any], str], record: Any) -> str:
        """Some milliseconds in a thread: a worker process would take longer to come to it."""
        async with one_at_a_time:
            return await run_in_threadpool(function, record)

    @router.get("/small/{build}/{record}")
    async def small(build: str, record: str) -> Response:
        """The small drawing of a build: of its latest record, by its hash, or of the work in hand ("work")."""
        if record == "work":
            desk = await run_in_threadpool(desk_of, build, where=state.notebook)
            in_hand = desk.document.get("record", {})
            return Response(await draw(small_drawing_in_hand, in_hand), media_type="image/svg+xml")
        revision, _ = await run_in_threadpool(notebook.show_revision, build, where=state.notebook)

        async def make() -> bytes:
            return (await draw(small_drawing, revision.record_toml)).encode()

        svg = await kept.get(f"{revision.record_sha256}-{_DRAWN_AS}.svg", make)
        ages = _FOR_EVER if record == revision.record_sha256 else {}
        return Response(svg, media_type="image/svg+xml", headers=ages)

    @router.get("/photo/{build}/{file_id}/{longest_px}")
    async def photo(build: str, file_id: str, longest_px: int) -> Response:
        """A photograph that was attached to a build, made small."""
        if longest_px not in photos.SIZES_PX:
            raise NotThereError(f"{longest_px} px is no size of a photograph.\n    what to do: reload the page")
        file, content = await run_in_threadpool(notebook.attached_file, build, file_id, where=state.notebook)

        async def make() -> bytes:
            path = state.incoming.folder / f"photo-{secrets.token_hex(8)}"
            await run_in_threadpool(path.write_bytes, content)
            try:
                job = state.workers.start(
                    photos.small_photo, path, file.name, longest_px, what=f"Reading {file.name}", quick=True,
                    limits=KINDS["photo"].limits,
                )  # fmt: skip
                made: bytes = await job.outcome()
                return made
            finally:
                path.unlink(missing_ok=True)

        jpeg = await kept.get(f"{file.sha256}-{longest_px}.jpg", make)
        return Response(jpeg, media_type="image/jpeg", headers=_FOR_EVER)

    @router.get("/file/{build}/{file_id}")
    def download(build: str, file_id: str) -> Response:
        """A file of a build, to be saved."""
        file, content = notebook.attached_file(build, file_id, where=state.notebook)
        return Response(content, media_type="application/octet-stream", headers=_to_save(file.name))

    @router.post("/incoming")
    async def incoming(request: Request, name: str, kinds: str) -> Response:
        """Lay down a file that was dropped on a page; the page then asks for it by the id."""
        wanted = [kind for kind in kinds.split(",") if kind in KINDS]
        if not wanted:
            raise UploadError("No kind of file is accepted here.\n    what to do: reload the page")
        upload = await state.incoming.take(request.stream(), name, wanted)
        return JSONResponse({"id": state.incoming.wait(upload)}, 201)

    @router.get("/notebook.zip")
    async def whole_notebook() -> Response:
        """The notebook as one file."""
        path = state.incoming.folder / f"notebook-{secrets.token_hex(8)}.zip"
        await run_in_threadpool(notebook.export_notebook, path, where=state.notebook)
        done = BackgroundTask(path.unlink, missing_ok=True)
        return FileResponse(
            path, media_type="application/zip", headers=_to_save("scribeline-notebook.zip"), background=done
        )

    @router.get("/help-text")
    @router.get("/help-text/{place:path}")
    def help_text(place: str = "") -> Response:
        """A page of the help, to be shown beside another page."""
        found = documents.document(place)
        return JSONResponse({"title": found.title, "html": found.html})

    @router.get("/help-pictures/{place:path}")
    def help_picture(place: str) -> Response:
        """A picture of the help."""
        return FileResponse(documents.picture(place))

    return router


class Kept:
    """Made once and kept in a folder; who asks while it is being made waits for the same one."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._making: dict[str, asyncio.Future[bytes]] = {}

    async def get(self, name: str, make: Callable[[], Any]) -> bytes:
        """What is kept under a name of ours, made where it is not there yet."""
        path = self.folder / name
        with contextlib.suppress(OSError):
            return await run_in_threadpool(path.read_bytes)
        if name not in self._making:
            self._making[name] = asyncio.ensure_future(self._made(path, make))
        return await asyncio.shield(self._making[name])

    async def _made(self, path: Path, make: Callable[[], Any]) -> bytes:
        try:
            content: bytes = await make()
            with contextlib.suppress(OSError):  # a full disk makes it slower, not wrong
                await run_in_threadpool(_write, path, content)
            return content
        finally:
            self._making.pop(path.name, None)


def _write(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    fresh = path.with_name(f".{secrets.token_hex(8)}")
    fresh.write_bytes(content)
    os.replace(fresh, path)


def _to_save(name: str) -> dict[str, str]:
    """Nothing that was attached is ever run as a page."""
    return {
        "content-disposition": f"attachment; filename*=UTF-8''{quote(name)}",
        "content-security-policy": "sandbox; default-src 'none'",
    }


def answer_refusals(app: FastAPI) -> None:
    """Have a refusal answered as what it is, where no page of the framework stands around it."""

    @app.exception_handler(ScribelineError)
    async def _(request: Request, error: ScribelineError) -> Response:
        kind = type(error).__name__ if not isinstance(error, JobError) else "JobError"
        return problem(kind, str(error))
