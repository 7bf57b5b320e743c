"""What pages load besides themselves, made in worker processes that may die."""

import asyncio
import io
import os
import signal
from collections.abc import Awaitable, Callable
from pathlib import Path

import httpx
from fastapi import FastAPI
from PIL import Image

from scribeline.notebook import open_notebook
from scribeline.tasks.cylinders import cylinders
from scribeline.tasks.desk import begin_build
from scribeline.tasks.notebook import attach_named, import_notebook, list_builds
from scribeline.web.desk import Hub
from scribeline.web.routes import answer_refusals, routes
from scribeline.web.state import State
from scribeline.web.workers import Workers
from tests.web.loops import run


def told(notebook: Path, story: Callable[[httpx.AsyncClient, State], Awaitable[None]]) -> None:
    async def whole() -> None:
        with open_notebook(notebook) as opened:
            state = State(opened, notebook.parent, Workers(1, grace_s=0.5), Hub(opened))
            app = FastAPI()
            app.include_router(routes(state))
            answer_refusals(app)
            transport = httpx.ASGITransport(app)
            async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1", timeout=60) as client:
                try:
                    await story(client, state)
                finally:
                    await state.workers.close()
                    state.incoming.close()

    run(whole())


def photo(notebook: Path, size: tuple[int, int], name: str = "before.png") -> str:
    path = notebook.parent / "x.png"
    Image.new("L", size).save(path, compress_level=1)
    (kept,) = attach_named("kart", {name: path}, where=notebook)
    return f"/photo/kart/{kept.id}"


def test_a_small_drawing_is_made_once_and_kept_by_its_hash(notebook: Path) -> None:
    (kart,) = cylinders(where=notebook)

    async def story(client: httpx.AsyncClient, state: State) -> None:
        answers = await asyncio.gather(*(client.get(f"/small/kart/{kart.picture}") for _ in range(5)))
        assert {answer.status_code for answer in answers} == {200}
        assert len({answer.content for answer in answers}) == 1
        assert answers[0].headers["content-type"].startswith("image/svg+xml")
        assert "immutable" in answers[0].headers["cache-control"]
        (kept,) = (state.folder / "small").iterdir()
        assert kept.read_bytes() == answers[0].content
        kept.write_bytes(b"<svg>kept</svg>")
        assert (await client.get(f"/small/kart/{kart.picture}")).content == b"<svg>kept</svg>"
        older = await client.get("/small/kart/of-an-older-record")  # never kept by the browser under a wrong name
        assert "immutable" not in older.headers.get("cache-control", "")

    told(notebook, story)


def test_a_cylinder_without_a_revision_is_drawn_as_it_is_in_hand(notebook: Path) -> None:
    begin_build("barn find", {"cylinder": {"bore_mm": 40}}, where=notebook)

    async def story(client: httpx.AsyncClient, state: State) -> None:
        answer = await client.get("/small/barn find/work")
        assert answer.text.startswith("<svg")
        assert (await client.get("/small/nobody/work")).status_code == 404

    told(notebook, story)


def test_photographs_come_small_and_in_two_sizes_only(notebook: Path) -> None:
    place = photo(notebook, (1000, 500))

    async def story(client: httpx.AsyncClient, state: State) -> None:
        answer = await client.get(f"{place}/320")
        assert Image.open(io.BytesIO(answer.content)).size == (320, 160)
        assert (await client.get(f"{place}/321")).status_code == 404
        assert (await client.get("/photo/kart/none/320")).status_code == 404
        assert not list(state.incoming.folder.iterdir())

    told(notebook, story)


def test_a_worker_that_is_killed_while_it_decodes_is_told_and_the_next_photograph_comes(notebook: Path) -> None:
    large, usual = photo(notebook, (9900, 9900), "large.png"), photo(notebook, (640, 480), "usual.png")

    async def story(client: httpx.AsyncClient, state: State) -> None:
        await client.get(f"{usual}/1600")  # the process is up
        asked = asyncio.ensure_future(client.get(f"{large}/320"))
        (worker,) = state.workers._workers
        while worker.job is None:
            await asyncio.sleep(0.001)
        os.kill(state.workers.process_ids[0], signal.SIGKILL)
        refused = await asked
        assert refused.status_code == 503
        assert "Reading large.png ended without an answer" in refused.json()["detail"]
        assert refused.json()["what_to_do"]
        assert (await client.get(f"{usual}/320")).status_code == 200
        assert (await client.get(f"{large}/320")).status_code == 200  # nothing half-made was kept

    told(notebook, story)


def test_what_was_attached_never_runs_as_a_page(notebook: Path) -> None:
    path = notebook.parent / "x"
    path.write_text("<script>evil()</script>")
    (kept,) = attach_named("kart", {"page.html": path}, where=notebook)

    async def story(client: httpx.AsyncClient, state: State) -> None:
        answer = await client.get(f"/file/kart/{kept.id}")
        assert answer.headers["content-type"] == "application/octet-stream"
        assert answer.headers["content-disposition"].startswith("attachment")
        assert "sandbox" in answer.headers["content-security-policy"]

    told(notebook, story)


def test_what_comes_in_waits_for_its_page_once(notebook: Path) -> None:
    async def story(client: httpx.AsyncClient, state: State) -> None:
        made = io.BytesIO()
        Image.new("L", (8, 8)).save(made, "PNG")
        asked = {"name": "../a.png", "kinds": "photo,made-up"}
        answer = await client.post("/incoming", params=asked, content=made.getvalue())
        assert answer.status_code == 201
        upload = state.incoming.waiting(answer.json()["id"])
        assert upload is not None
        assert (upload.name, upload.kind.name) == ("a.png", "photo")
        assert state.incoming.waiting(answer.json()["id"]) is None
        refused = await client.post("/incoming", params={"name": "x", "kinds": "made-up"}, content=b"x")
        assert refused.status_code == 415

    told(notebook, story)


def test_of_many_that_nobody_asks_for_the_oldest_go(notebook: Path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    async def story(client: httpx.AsyncClient, state: State) -> None:
        from scribeline.web import uploads

        monkeypatch.setattr(uploads, "MOST_WAITING", 3)
        for _ in range(5):
            await client.post("/incoming", params={"name": "x.toml", "kinds": "record"}, content=b"a = 1")
        assert len(list(state.incoming.folder.iterdir())) == 3

    told(notebook, story)


def test_the_notebook_as_a_file_comes_back_whole(notebook: Path, tmp_path: Path) -> None:
    async def story(client: httpx.AsyncClient, state: State) -> None:
        answer = await client.get("/notebook.zip")
        (tmp_path / "saved.zip").write_bytes(answer.content)
        assert not list(state.incoming.folder.iterdir())

    told(notebook, story)
    moved = import_notebook(tmp_path / "saved.zip", where=tmp_path / "other.sqlite")
    assert moved.builds == 1
    assert [one.build.name for one in list_builds(where=tmp_path / "other.sqlite")] == ["kart"]


def test_pictures_of_the_help(notebook: Path) -> None:
    async def story(client: httpx.AsyncClient, state: State) -> None:
        answer = await client.get("/help-pictures/pictures/squish.svg")
        assert answer.status_code == 200
        for place in ("pictures/none.svg", "../pyproject.toml", "%2e%2e/pyproject.toml", "generate.py"):
            assert (await client.get(f"/help-pictures/{place}")).status_code == 404

    told(notebook, story)
