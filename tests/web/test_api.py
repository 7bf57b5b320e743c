"""The API over a real notebook: what comes back, what is kept, and what a refusal says."""

import asyncio
import csv
import io
import json
import math
import tomllib
import zipfile
from collections.abc import Awaitable, Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import jsonschema
import pytest
from PIL import Image

from scribeline.notebook import open_notebook
from scribeline.web import api
from scribeline.web.desk import Hub
from scribeline.web.guard import Door, Guard
from scribeline.web.sessions import Sessions
from scribeline.web.state import State
from scribeline.web.workers import Workers
from tests.examples import path_of
from tests.web.loops import run

GATES = Path(__file__).resolve().parents[2] / "examples" / "gate-times.csv"


class Program:
    """A program that talks to the API, behind the guard as in the server."""

    def __init__(self, client: httpx.AsyncClient, state: State, app_jobs: Any) -> None:
        self.client, self.state, self.app_jobs = client, state, app_jobs

    async def get(self, path: str, status: int = 200, **params: Any) -> Any:
        return self._read(await self.client.get(path, params=params), status)

    async def post(self, path: str, body: Any = None, status: int = 201, **kwargs: Any) -> Any:
        return self._read(await self.client.post(path, json=body, **kwargs), status)

    async def send(self, path: str, content: bytes, status: int = 201, **params: Any) -> Any:
        return self._read(await self.client.post(path, content=content, params=params), status)

    def _read(self, answer: httpx.Response, status: int) -> Any:
        assert answer.status_code == status, answer.text
        kind = answer.headers["content-type"]
        assert kind == ("application/problem+json" if status >= 400 else "application/json"), kind
        return answer.json()


@contextmanager
def _state(notebook: Path) -> Iterator[State]:
    with open_notebook(notebook, create=True) as opened:
        door = Door(80, Sessions(notebook.parent / "devices.json"))
        yield State(opened, notebook.parent, Workers(1, grace_s=0.5), Hub(opened), door=door)


def told(notebook: Path, story: Callable[[Program], Awaitable[None]]) -> None:
    """Run a story of a program against the API on this notebook."""

    async def whole() -> None:
        with _state(notebook) as state:
            assert state.door is not None
            _, token = state.door.sessions.admit("bench script", "program")
            inner = api.application(state)
            guarded = Guard(_under_its_path(inner), state.door)
            transport = httpx.ASGITransport(guarded, raise_app_exceptions=False)
            key = {"authorization": f"Bearer {token}"}
            async with httpx.AsyncClient(
                transport=transport, base_url="http://127.0.0.1/api/v1", headers=key, timeout=60
            ) as client:
                try:
                    await story(Program(client, state, inner.state.jobs))
                finally:
                    await state.workers.close()
                    state.incoming.close()

    run(whole(), within_s=300.0)  # a machine that is busy, and a first start that compiles


def _under_its_path(app: Any) -> Any:
    from fastapi import FastAPI

    whole = FastAPI(docs_url=None, redoc_url=None, openapi_url=None)
    whole.mount("/api/v1", app)
    return whole


def _number(field: Any) -> float:
    return float(field["value"] if isinstance(field, dict) else field)


def test_builds_and_revisions(notebook: Path) -> None:
    async def story(program: Program) -> None:
        (build,) = await program.get("/builds")
        assert (build["name"], build["revisions"], build["latest"], build["files"]) == ("kart", 1, 1, 0)
        assert await program.get("/builds/KART") == build
        (revision,) = await program.get("/builds/kart/revisions")
        assert revision["record_toml"] == path_of("club-kart-98").read_text()
        assert await program.get("/builds/kart/revisions/1") == revision

    told(notebook, story)


def test_an_edit_is_kept_undone_and_kept_as_a_revision(notebook: Path) -> None:
    async def story(program: Program) -> None:
        bore = "record.cylinder.bore_mm"
        before = (await program.get("/builds/kart/in-hand"))["document"]["record"]["cylinder"]["bore_mm"]
        after = {"value": 50.4, "plus_minus": 0.01}
        edit = {"path": bore, "before": before, "after": after, "label": "bore 50.4 mm"}
        work = await program.post("/builds/kart/in-hand/edits", edit)
        assert work["document"]["record"]["cylinder"]["bore_mm"] == after
        assert work["undoable"]["label"] == "bore 50.4 mm"
        assert work["undoable"]["device"] == "bench script"
        assert (await program.post("/builds/kart/in-hand/undo", status=200))["document"]["record"]["cylinder"][
            "bore_mm"
        ] == before
        redone = await program.post("/builds/kart/in-hand/redo", status=200)
        assert redone["document"]["record"]["cylinder"]["bore_mm"] == after
        kinds = [one["kind"] for one in await program.get("/builds/kart/in-hand/edits", after=work["number"] - 1)]
        assert kinds == ["edit", "undo", "redo"]
        kept = await program.post("/builds/kart/revisions", {"note": "honed", "author": "kim"})
        assert (kept["number"], kept["author"], kept["note"]) == (2, "kim", "honed")
        assert {one["path"] for one in await program.get("/builds/kart/changes")} >= {"cylinder.bore_mm.value"}

    told(notebook, story)


def test_a_conflict_holds_both_values_and_changes_nothing(notebook: Path) -> None:
    async def story(program: Program) -> None:
        path = "record.cylinder.stroke_note"
        edit = {"path": path, "after": "mine", "before": None, "label": "note"}
        await program.post("/builds/kart/in-hand/edits", edit)
        late = edit | {"after": "theirs"}
        problem = await program.post("/builds/kart/in-hand/edits", late, status=409)
        assert problem["type"] == "urn:scribeline:EditConflict"
        assert (problem["path"], problem["yours"], problem["theirs"]) == (path, "theirs", "mine")
        assert problem["their_edit"]["device"] == "bench script"
        assert problem["kept"] == "mine"
        assert "choose one" in problem["what_to_do"]
        assert (await program.get("/builds/kart/in-hand"))["document"]["record"]["cylinder"]["stroke_note"] == "mine"

    told(notebook, story)


def test_open_pages_hear_of_an_edit(notebook: Path) -> None:
    async def story(program: Program) -> None:
        heard: list[str] = []

        class Page:
            def changed(self, edits: Any) -> None:
                heard.extend(edit.path for edit in edits)

        program.state.hub.desk("kart")
        program.state.hub.listen("kart", Page())
        edit = {"path": "plan.goal", "after": "most", "label": "goal"}
        await program.post("/builds/kart/in-hand/edits", edit)
        assert heard[-1].startswith("plan")

    told(notebook, story)


def test_a_new_cylinder_and_a_record_that_is_none_yet(notebook: Path) -> None:
    async def story(program: Program) -> None:
        work = await program.post("/builds", {"name": "found in a barn", "record": {"cylinder": {"bore_mm": 39.9}}})
        assert work["revision_number"] is None
        problem = await program.post("/builds/found in a barn/revisions", {}, status=422)
        assert problem["type"] == "urn:scribeline:RecordError"
        assert {"where", "value", "accepted", "remedy", "line"} <= problem["problems"][0].keys()
        assert "already" in (await program.post("/builds", {"name": "KART"}, status=409))["detail"]

    told(notebook, story)


def test_what_is_worked_out(notebook: Path) -> None:
    async def story(program: Program) -> None:
        card = await program.get("/builds/kart/card")
        record = tomllib.loads(path_of("club-kart-98").read_text())
        bore, stroke = record["cylinder"]["bore_mm"], record["crank"]["stroke_mm"]
        by_hand = math.pi / 4 * _number(bore) ** 2 * _number(stroke) / 1000
        assert card["values"]["displacement_cc"]["value"] == pytest.approx(by_hand, rel=1e-3)
        assert (await program.get("/builds/kart/card", of="1"))["values"].keys() == card["values"].keys()
        assert (await program.get("/builds/kart/card", of="work"))["engine"] == card["engine"]
        wish = {"steps": ["raise exhaust roof at exhaust: 1 mm"], "cut_list": True}
        done = await program.post("/builds/kart/what-if", wish, status=200)
        assert [step["says"] for step in done["steps"]] == wish["steps"]
        moved = {one["name"]: one for one in done["moved"]}
        assert moved["exhaust_duration_deg"]["after"] > moved["exhaust_duration_deg"]["before"]
        assert done["cut_list"]
        stacks = await program.get(
            "/builds/kart/stacks", gaskets="base 0.5x2 0.3, head 0.8", tools="file, glass plate, lathe", most=3
        )
        assert 0 < len(stacks["stacks"]) <= 3
        assert stacks["asked"]["low_mm"] < stacks["asked"]["high_mm"]

    told(notebook, story)


def test_sheets_come_as_a_zip(notebook: Path) -> None:
    async def story(program: Program) -> None:
        answer = await program.client.post("/builds/kart/sheets", json={"only": ["bore-wrap"], "formats": "pdf,svg"})
        assert answer.status_code == 200, answer.text
        archive = zipfile.ZipFile(io.BytesIO(answer.content))
        assert archive.testzip() is None
        (pdf,) = [name for name in archive.namelist() if name.endswith(".pdf")]
        assert archive.read(pdf).startswith(b"%PDF")
        refused = await program.post("/builds/kart/sheets", {"only": ["nothing of ours"]}, status=422)
        assert "bore-wrap" in refused["accepted"]

    told(notebook, story)


def test_a_curve_is_a_job_that_can_be_asked_after_and_stopped(notebook: Path) -> None:
    async def story(program: Program) -> None:
        job = await program.post("/builds/kart/curves", {"speeds": "8000:9000:1000", "cell_mm": 40}, status=202)
        curve = await program.get(f"/jobs/{job['id']}/result")
        assert [point["speed_rpm"] for point in curve["points"]] == [8000.0, 9000.0]
        done = await program.get(f"/jobs/{job['id']}")
        assert (done["state"], done["progress"], done["has_result"]) == (
            "done", {"doing": "the curve", "done": 2, "of": 2}, True,
        )  # fmt: skip
        long = await program.post("/builds/kart/curves", {"speeds": "4000:13000:50", "cell_mm": 20}, status=202)
        while not (await program.get(f"/jobs/{long['id']}"))["progress"]:
            await asyncio.sleep(0.02)
        stopped = await program.client.delete(f"/jobs/{long['id']}")
        assert stopped.status_code == 202
        had = await program.get(f"/jobs/{long['id']}/result")
        done = [one for one in had["points"] if "power_kw" in one]
        assert had["stopped"] == [f"the curve has {len(done)} of 181 speeds"]
        assert 0 < len(done) < 181
        assert (await program.get(f"/jobs/{long['id']}"))["state"] == "stopped"

    told(notebook, story)


def test_files_come_and_go_as_downloads(notebook: Path) -> None:
    async def story(program: Program) -> None:
        made = io.BytesIO()
        Image.new("RGB", (8, 6), "white").save(made, "PNG")
        kept = await program.send("/builds/kart/files", made.getvalue(), name="../../ports before.png", revision=1)
        assert (kept["name"], kept["media_type"], kept["revision_number"]) == ("ports before.png", "image/png", 1)
        assert await program.get("/builds/kart/files") == [kept]
        back = await program.client.get(f"/builds/kart/files/{kept['id']}")
        assert back.content == made.getvalue()
        assert back.headers["content-disposition"] == "attachment; filename*=UTF-8''ports%20before.png"
        assert "sandbox" in back.headers["content-security-policy"]
        refused = await program.send("/builds/kart/files", b"\x7fELF\x02\x01\x01\0", name="x.png", status=415)
        assert "photograph" in refused["accepted"]
        assert (await program.get("/builds/kart/files/none", status=404))["what_to_do"]
        assert list(program.state.incoming.folder.iterdir()) == []

    told(notebook, story)


def test_trials_from_times_to_a_verdict(notebook: Path) -> None:
    async def story(program: Program) -> None:
        await program.post("/trials", {"name": "sunday", "build": "kart"})
        assert [one["name"] for one in await program.get("/trials")] == ["sunday"]
        added = await program.send("/trials/sunday/files", GATES.read_bytes(), name="gate-times.csv")
        assert (added["why_not"], added["runs"] > 5) == ("", True)
        shown = await program.get("/trials/sunday")
        assert [(one["name"], one["entry"]) for one in shown["files"]] == [("gate-times.csv", 1)]
        verdict = await program.post("/comparisons", {"trials": ["sunday"]}, status=200)
        assert len(verdict["setups"]) == 2
        typed = list(csv.DictReader(io.StringIO(GATES.read_text())))
        assert added["runs"] == 2 * len(typed)  # times through two gates each
        assert len(verdict["runs"]) == len({(row["setup"], row["run"]) for row in typed})
        assert verdict["verdicts"][0]["measure"]
        unread = await program.send("/trials/sunday/files", b"\0\0\0\x20ftypisom" + b"x" * 100, name="film.mp4")
        assert "film" in unread["why_not"] or unread["why_not"]

    told(notebook, story)


def test_no_name_that_is_sent_is_taken_for_a_path(notebook: Path) -> None:
    async def story(program: Program) -> None:
        for name in (str(GATES), "../notebook.sqlite"):
            refused = await program.post("/comparisons", {"trials": [name]}, status=422)
            assert refused["type"] == "urn:scribeline:TrialError"
            assert "no such trial" in refused["detail"]
        for name in (str(GATES), str(GATES.with_name("gasket-box.toml"))):
            stacks = await program.get("/builds/kart/stacks", gaskets=name, status=422)
            assert stacks["type"] == "urn:scribeline:SearchError"

    told(notebook, story)


def test_refusals_say_what_happened_and_what_to_do(notebook: Path) -> None:
    async def story(program: Program) -> None:
        for path in ("/builds/nobody", "/builds/kart/revisions/7", "/trials/never", "/jobs/none"):
            problem = await program.get(path, status=404)
            assert problem["type"] == "urn:scribeline:NotThereError"
            assert problem["status"] == 404
            assert problem["title"] == "not there"
            assert problem["what_to_do"]
        assert (await program.get("/nothing/here", status=404))["title"] == "Not Found"
        unknown = await program.post("/builds", {"name": "x", "colour": "red"}, status=422)
        assert "colour" in unknown["detail"]
        wrong = await program.post("/builds/kart/what-if", {"steps": ["raise the roof"]}, status=422)
        assert wrong["type"] == "urn:scribeline:PlanError"
        assert wrong["problems"]
        assert "speeds" in (await program.get("/builds/kart/card", status=422, of="speeds"))["detail"]

    told(notebook, story)


def test_a_fault_is_told_without_its_inside(
    notebook: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def breaks(*args: Any, **kwargs: Any) -> None:
        raise ZeroDivisionError("inside matters")

    async def story(program: Program) -> None:
        monkeypatch.setattr("scribeline.tasks.notebook.list_builds", breaks)
        problem = await program.get("/builds", status=500)
        assert "ZeroDivisionError" in problem["detail"]
        assert "inside matters" not in json.dumps(problem)

    told(notebook, story)
    assert "inside matters" in caplog.text


def test_two_programs_edit_one_cylinder(notebook: Path) -> None:
    """Many edits at once: each is kept or refused as a conflict, none is lost."""

    async def story(program: Program) -> None:
        async def one(number: int) -> int:
            edit = {"path": "plan.count", "before": None, "after": number, "label": f"count {number}"}
            return (await program.client.post("/builds/kart/in-hand/edits", json=edit)).status_code

        statuses = await asyncio.gather(*(one(number) for number in range(8)))
        assert sorted(statuses) == [201] + [409] * 7
        assert len(await program.get("/builds/kart/in-hand/edits")) == 2  # the first takes the record in hand

    told(notebook, story)


def test_the_description_is_openapi_and_names_every_way(notebook: Path) -> None:
    async def story(program: Program) -> None:
        document = await program.get("/openapi.json")
        assert document["openapi"].startswith("3.1")
        assert document["servers"] == [{"url": "/api/v1"}]
        jsonschema.Draft202012Validator.check_schema({"$defs": document["components"]["schemas"]})
        operations = [(path, method, one) for path, ways in document["paths"].items() for method, one in ways.items()]
        assert len(operations) >= 24
        assert [(path, method) for path, method, one in operations if not one.get("description")] == []
        assert [path for path, _, one in operations if "4XX" not in one["responses"]] == []
        assert (await program.client.get("/docs")).status_code == 404  # the usual page loads from a network

    told(notebook, story)


def test_without_a_key_there_is_nothing(notebook: Path) -> None:
    async def story(program: Program) -> None:
        for key in ("", "Bearer no", "Basic Zm9vOmJhcg=="):
            answer = await program.client.get("/openapi.json", headers={"authorization": key})
            assert answer.status_code == 401

    told(notebook, story)
