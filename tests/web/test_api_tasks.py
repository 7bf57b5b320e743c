"""Every task that a command offers, asked for by a program: what comes back is what the command would give."""

import csv
import io
import json
import tomllib
import zipfile
from pathlib import Path
from typing import Any

import cv2
import httpx
import pytest

from scribeline.engine import read_record
from scribeline.plan.plan_file import read_plan
from scribeline.tasks.ledger import ledger_of
from scribeline.web.workers import Job
from tests.examples import path_of
from tests.rubbing.kart import pixels
from tests.web.at_work import at_once
from tests.web.test_api import GATES, Program, told

STEP = "raise exhaust roof at exhaust: 1 mm"
SHORT = {"speeds": "8000:9000:1000", "cell_mm": 40}


@pytest.fixture(autouse=True)
def quick_jobs(monkeypatch: pytest.MonkeyPatch) -> None:
    at_once(monkeypatch)


async def file_of(program: Program, way: str, body: Any, kind: str) -> bytes:
    """A file that a request gives, which must be of this media type and is never shown as a page."""
    answer = await program.client.post(way, json=body)
    return checked(answer, kind)


def checked(answer: httpx.Response, kind: str) -> bytes:
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"].startswith(kind)
    assert answer.headers["content-disposition"].startswith("attachment")
    assert "sandbox" in answer.headers["content-security-policy"]
    return answer.content


async def result_of(program: Program, way: str, wish: Any, kind: str | None = None) -> Any:
    """The result of a job: JSON, or a file of this media type."""
    job = await program.post(way, wish, status=202)
    answer = await program.client.get(f"/jobs/{job['id']}/result", timeout=300)
    if kind is not None:
        return checked(answer, kind)
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_the_card_with_limits_workings_and_as_a_page(notebook: Path) -> None:
    async def story(program: Program) -> None:
        way = "/builds/kart/card"
        limits = (await program.post(way, {"speed_rpm": 9000, "plus_minus": False}, status=200))["values"]
        assert limits["mean_piston_speed_m_s"]["value"] == pytest.approx(2 * 0.050 * 9000 / 60, rel=0.05)
        working = await program.post(way, {"explain": ["displacement_cc"]}, status=200)
        assert list(working) == ["displacement_cc"]
        assert "bore" in working["displacement_cc"]
        assert b"<!doctype html>" in (await file_of(program, way, {"form": "page"}, "text/html"))[:200].lower()
        refused = await program.post(way, {"limits_toml": "this is no table"}, status=422)
        assert "/tmp" not in json.dumps(refused)
        assert refused["type"] == "urn:scribeline:PlanError"

    told(notebook, story)


def test_records_are_checked_described_and_kept(notebook: Path) -> None:
    async def story(program: Program) -> None:
        text = path_of("club-kart-98").read_text()
        assert (await program.post("/records/check", {"record_toml": text}, status=200))["sound"] is True
        wrong = await program.post("/records/check", {"record_toml": text.replace("50.0", "5000.0")}, status=422)
        assert wrong["type"] == "urn:scribeline:RecordError"
        assert wrong["problems"]
        assert "/tmp" not in json.dumps(wrong)
        assert (await program.get("/records/schema"))["$schema"].endswith("2020-12/schema")
        kept = await program.post("/builds/second/revisions", {"record_toml": text + "# mine\n", "note": "sent"})
        assert (kept["number"], kept["note"], kept["record_toml"]) == (1, "sent", text + "# mine\n")

    told(notebook, story)


def test_a_plan_before_and_after_it_was_measured(notebook: Path) -> None:
    async def story(program: Program) -> None:
        steps = [STEP, "swap head gasket: thin copper"]
        can = await program.get("/builds/kart/operations")
        assert {"raise exhaust roof", "deck barrel top"} <= {one["do"] for one in can}
        assert {one["at"] for one in can if one["do"] == "raise exhaust roof"} == {"exhaust"}
        plan = await program.post("/builds/kart/what-if", {"steps": [STEP]}, status=200)
        assert [step.do for step in read_plan(plan["plan_toml"]).steps] == ["raise exhaust roof"]
        before = read_record(path_of("club-kart-98").read_text()).ports[0].roof_from_deck_mm
        after = read_record(plan["record_to_expect_toml"]).ports[0].roof_from_deck_mm
        assert before is not None
        assert after is not None
        assert before.value - after.value == pytest.approx(1.0)
        two = [STEP, "widen exhaust at exhaust: 1 mm"]
        rest = await program.post(
            "/builds/kart/what-if",
            {"steps": two, "from_here": 1, "measured_toml": plan["record_to_expect_toml"]},
            status=200,
        )
        assert len(rest["steps"]) == 1
        refused = await program.post("/builds/kart/what-if", {"steps": two, "from_here": 1}, status=422)
        assert "measured" in json.dumps(refused)
        png = await file_of(program, "/builds/kart/build-card", {"plan_toml": plan["plan_toml"]}, "image/png")
        assert png.startswith(b"\x89PNG")
        assert steps

    told(notebook, story)


def test_stacks_for_a_range_of_ones_own_and_sheets_as_wished(notebook: Path) -> None:
    async def story(program: Program) -> None:
        tight = await program.get("/builds/kart/stacks", gaskets="base 0.5x2 0.3, head 0.8", low_mm=0.7, high_mm=0.9)
        assert tight["asked"] == {"low_mm": 0.7, "high_mm": 0.9}
        assert "0.05" in (await program.get("/builds/kart/stacks", low_mm=3, high_mm=1, status=422))["accepted"]
        wish = {"only": ["degree-wheel"], "wheels_mm": [90.0], "turns": "anticlockwise", "formats": "svg"}
        answer = await program.client.post("/builds/kart/sheets", json=wish)
        if answer.status_code == 422:
            wish["only"] = [name for name in answer.json()["accepted"].split(", ") if "wheel" in name][:1]
            answer = await program.client.post("/builds/kart/sheets", json=wish)
        assert answer.status_code == 200, answer.text
        text = "".join(zipfile.ZipFile(io.BytesIO(answer.content)).read(name).decode()
                       for name in zipfile.ZipFile(io.BytesIO(answer.content)).namelist())  # fmt: skip
        assert "90 mm" in text

    told(notebook, story)


def test_a_curve_beside_what_a_plan_makes_of_it_and_a_trace(notebook: Path) -> None:
    async def story(program: Program) -> None:
        both = await result_of(program, "/builds/kart/curves", SHORT | {"steps": [STEP]})
        assert len(both["points"]) == 2
        other = SHORT | {"form": "csv", "compare_of": "1"}
        rows = list(
            csv.reader(io.StringIO((await result_of(program, "/builds/kart/curves", other, "text/csv")).decode()))
        )
        assert len(rows) == 1 + 2 * 2, rows[0]
        trace = await result_of(program, "/builds/kart/traces", {"speed_rpm": 9000, "cell_mm": 40, "compare_of": "1"})
        lengths = {len(column) for one in (trace, trace["other"]) for column in one["columns"].values()}
        assert lengths == {720}  # a row for every half degree

    told(notebook, story)


def test_what_a_stopped_search_had_is_its_result_even_where_its_process_was_ended(notebook: Path) -> None:
    async def story(program: Program) -> None:
        job = Job(program.state.workers, b"", "The search", None, False)
        key = program.app_jobs.add(job)
        refused = await program.get(f"/jobs/{key}")
        assert refused["has_result"] is False
        job.told({"doing": "searching", "done": 3, "of": 9, "so_far": {"front": [1]}})
        job.end("stopped", error="The search was stopped, as asked.")
        assert (await program.get(f"/jobs/{key}"))["has_result"] is True
        assert await program.get(f"/jobs/{key}/result") == {"front": [1]}
        other = Job(program.state.workers, b"", "The trace", None, False)
        key = program.app_jobs.add(other)
        other.end("stopped", error="The trace was stopped, as asked.\n    kept: everything you entered")
        assert (await program.get(f"/jobs/{key}/result", status=503))["kept"]

    told(notebook, story)


def test_no_text_of_a_search_is_taken_for_a_path(notebook: Path) -> None:
    async def story(program: Program) -> None:
        box = str(GATES.with_name("gasket-box.toml"))
        for way in ("searches", "who-limits"):
            job = await program.post(f"/builds/kart/{way}", {"gaskets": box}, status=202)
            refused = await program.get(f"/jobs/{job['id']}/result", status=422)
            assert refused["type"] == "urn:scribeline:SearchError"

    told(notebook, story)


def test_a_pipe_is_read_designed_and_laid_out_flat(notebook: Path) -> None:
    async def story(program: Program) -> None:
        way = "/builds/kart/pipes"
        fitted = await result_of(program, way, {"first_shape": True})
        new = await result_of(program, way, {"first_shape": True, "speed_rpm": 9000})
        assert fitted != new
        wish = {"first_shape": True, "speed_rpm": 9000, "form": "record"}
        record = read_record((await result_of(program, way, wish, "application/toml")).decode())
        assert record.exhaust is not None
        assert record.exhaust.sections != read_record(path_of("club-kart-98").read_text()).exhaust.sections  # type: ignore[union-attr]
        flat = await result_of(program, way, wish | {"form": "patterns", "formats": "dxf"}, "application/zip")
        names = zipfile.ZipFile(io.BytesIO(flat)).namelist()
        assert names
        assert all(name.endswith(".dxf") for name in names)

    told(notebook, story)


def test_a_prediction_is_kept_and_what_came_of_it_set_beside(notebook: Path) -> None:
    async def story(program: Program) -> None:
        way = "/builds/kart/ledger"
        own = {"what": "25 to 50 km/h", "value": 4.2, "low": 4.0, "high": 4.4, "unit": "s", "author": "Kim"}
        (kept,) = await program.post(f"{way}/predictions", own)
        assert (kept["what"], kept["value"], kept["measured"]) == ("25 to 50 km/h", 4.2, None)
        planned = await program.post(f"{way}/plan-predictions", {"steps": [STEP]})
        assert {one["came_from"] for one in planned} != {"own judgement"}
        beside = {"prediction": kept["entry"], "value": 4.3, "plus_minus": 0.1, "seen_in": "stopwatch"}
        (seen,) = await program.post(f"{way}/measurements", beside)
        assert seen["measured"]["value"] == 4.3
        assert (await program.post(f"{way}/measurements", {}, status=422))["accepted"]
        lesson = await program.post(f"{way}/lessons", {"words": "Measure twice."})
        ledger = await program.get(way)
        assert ledger["lessons"][0]["words"] == "Measure twice."
        gone = await program.client.post(f"{way}/{lesson['entry']}/leave-out", json={"because": "trite"})
        assert gone.status_code == 204
        assert ledger_of("kart", where=program.state.notebook).lessons == ()  # type: ignore[comparison-overlap]
        assert b"<svg" in checked(await program.client.get(way, params={"form": "svg"}), "image/svg")
        events = (await program.get("/builds/kart/history"))["events"]
        assert {"record", "promise", "measured"} <= {one["kind"] for one in events}
        assert b"<html" in checked(
            await program.client.get("/builds/kart/history", params={"form": "page"}), "text/html"
        )

    told(notebook, story)


def test_a_road_prediction_is_a_job_and_stays_in_the_ledger(notebook: Path) -> None:
    async def story(program: Program) -> None:
        wish = {"gates": ["60 to 80 km/h"], "speeds": "7000:10000:1500"}
        kept = await result_of(program, "/builds/kart/ledger/road-predictions", wish)
        assert any("60" in one["what"] for one in kept)
        assert len((await program.get("/builds/kart/ledger"))["predictions"]) == len(kept)

    told(notebook, story)


def test_two_revisions_are_laid_beside_each_other(notebook: Path) -> None:
    async def story(program: Program) -> None:
        edit = {"path": "record.ports.0.roof_from_deck_mm", "after": 28.1, "label": "roof"}
        before = (await program.get("/builds/kart/in-hand"))["document"]["record"]["ports"][0]["roof_from_deck_mm"]
        await program.post("/builds/kart/in-hand/edits", edit | {"before": before})
        await program.post("/builds/kart/revisions", {})
        two = await program.get("/builds/kart/beside", before=1, after=2)
        assert any("roof" in json.dumps(one) for one in two["differences"])
        assert two["moved"]
        way = "/builds/kart/beside"
        drawn = checked(
            await program.client.get(way, params={"before": 1, "after": 2, "form": "svg"}), "application/zip"
        )
        assert any(name.endswith(".svg") for name in zipfile.ZipFile(io.BytesIO(drawn)).namelist())

    told(notebook, story)


def test_a_trial_is_set_corrected_undone_and_told_in_full(notebook: Path) -> None:
    async def story(program: Program) -> None:
        await program.post("/trials", {"name": "sunday", "build": "kart", "air": "22 C 1008 hPa"})
        await program.send("/trials/sunday/files", GATES.read_bytes(), name="gate-times.csv")
        done = await program.client.post("/trials/sunday/settings", json={"gates": ["30 to 50 km/h"]})
        assert done.status_code == 204
        shown = await program.get("/trials/sunday")
        assert (len(shown["gates"]), shown["air"]["t_c"]) == (1, 22.0)
        typed = list(csv.DictReader(io.StringIO(GATES.read_text())))
        assert len(shown["runs"]) == len({(row["setup"], row["run"]) for row in typed})
        run = shown["runs"][0]["name"]
        dropped = await program.post("/trials/sunday/dropped-runs", {"run": run, "because": "brakes dragged"})
        assert "dropped" in dropped["words"]
        after = await program.get("/trials/sunday")
        assert [entry["words"] for entry in after["journal"]][-1] == f"run {after['runs'][0]['name']} dropped" or (
            "dropped" in after["journal"][-1]["words"]
        )
        assert len(after["dropped"]) == 1
        await program.post("/trials/sunday/undo", {"number": after["undoable"]}, status=200)
        assert (await program.get("/trials/sunday"))["dropped"] == {}
        redoable = (await program.get("/trials/sunday"))["redoable"]
        await program.post("/trials/sunday/redo", {"number": redoable}, status=200)
        assert len((await program.get("/trials/sunday"))["dropped"]) == 1
        table = await file_of(program, "/comparisons", {"trials": ["sunday"], "form": "csv"}, "text/csv")
        assert table.decode().count("\n") > len(shown["runs"])
        pictures = await file_of(program, "/comparisons", {"trials": ["sunday"], "form": "svg"}, "application/zip")
        assert zipfile.ZipFile(io.BytesIO(pictures)).namelist()
        job = await program.post("/comparisons/jobs", {"trials": ["sunday"]}, status=202)
        assert (await program.get(f"/jobs/{job['id']}/result"))["verdicts"]
        pull = "".join(f"{i / 10},{20 + 0.3 * max(i - 50, 0):.1f}\n" for i in range(150))  # rolls, then pulls for 10 s
        log = f"time (s),speed (km/h)\n{pull}".encode()
        await program.send("/trials/sunday/files", log, name="log.csv", setup="cut", direction="out")
        number = (await program.get("/trials/sunday"))["files"][-1]["entry"]
        again = await program.post(f"/trials/sunday/files/{number}/readings", {"setup": "squish set"}, status=201)
        assert (again["format"], again["runs"], again["why_not"]) == ("columns", 1, "")
        anew = await program.get("/trials/sunday")
        assert [(one["setup"], one["direction"]) for one in anew["pulls"]] == [("squish set", "out")]
        assert anew["journal"][-1]["words"] == "log.csv read anew"
        refused = await program.post(f"/trials/sunday/files/{number}/readings", {"road": number}, status=422)
        assert "another recording than itself" in str(refused)
        refused = await program.post("/trials/sunday/pull-corrections",
                                     {"pull": "1.1", "action": "trim", "because": "wheelspin"}, status=422)  # fmt: skip
        assert refused["type"] == "urn:scribeline:TrialError"

    told(notebook, story)


def test_runs_are_planned_and_a_coast_down_is_read(notebook: Path) -> None:
    async def story(program: Program) -> None:
        plan = await program.post("/runs-needed", {"difference": 0.15, "scatter": 0.08}, status=200)
        assert plan["runs"] == pytest.approx(2 * (0.08 / 0.15) ** 2 * (1.96 + 0.84) ** 2, abs=2)
        assert {one["setup"] for one in plan["order"]} == {"A", "B"}
        assert plan["cautions"]
        refused = await program.post("/coast-downs", {"build": "kart", "out": ["none"], "mass_kg": 150}, status=404)
        assert refused["what_to_do"]
        speeds = [20.0]
        while speeds[-1] > 8.0:  # m v' = -(20 N + 0.4 v^2), stepped through; 150 kg
            speeds.append(speeds[-1] - 0.1 * (20.0 + 0.4 * speeds[-1] ** 2) / 150.0)
        text = "time s,speed m/s\n" + "".join(f"{0.1 * n:.1f},{v:.4f}\n" for n, v in enumerate(speeds))
        kept = await program.send("/builds/kart/files", text.encode(), name="roll-out.csv")
        wish = {"build": "kart", "out": [kept["id"]], "back": [kept["id"]], "mass_kg": 150}
        found = await program.post("/coast-downs", wish, status=200)
        assert found["rolling_n"] == pytest.approx(20.0, abs=1.0)
        assert found["drag_n_s2_per_m2"] == pytest.approx(0.4, abs=0.02)

    told(notebook, story)


def test_ports_are_measured_on_a_photograph(notebook: Path) -> None:
    async def story(program: Program) -> None:
        ok, data = cv2.imencode(".png", pixels("sideways"))
        assert ok
        way = "/builds/kart/rubbing"
        answer = await program.client.post(way, content=data.tobytes(), params={"name": "r.png", "form": "record"})
        record = read_record(checked(answer, "application/toml").decode())
        assert len(record.ports) >= 4
        refused = await program.send(way, data.tobytes(), status=422, name="r.png", deck="1,2")
        assert refused["type"] == "urn:scribeline:RubbingError"

    told(notebook, story)


def test_several_places_are_edited_as_one_step(notebook: Path) -> None:
    async def story(program: Program) -> None:
        puts = [{"path": "plan.goal", "after": "most"}, {"path": "marking.paper", "after": "A3"}]
        work = await program.post("/builds/kart/in-hand/steps", {"label": "begun", "puts": puts})
        assert (work["document"]["plan"], work["document"]["marking"]) == ({"goal": "most"}, {"paper": "A3"})
        edits = await program.get("/builds/kart/in-hand/edits", after=1)
        assert [one["step"] for one in edits] == [None, edits[0]["number"]]
        late = [{"path": "plan.tools", "after": ["file"]}, {"path": "plan.goal", "after": "pull"}]
        problem = await program.post("/builds/kart/in-hand/steps", {"label": "late", "puts": late}, status=409)
        assert problem["path"] == "plan.goal"
        undone = await program.post("/builds/kart/in-hand/undo", status=200)
        assert set(undone["document"]) == {"record"}

    told(notebook, story)


def test_the_notebook_goes_out_and_into_an_empty_one(notebook: Path, tmp_path: Path) -> None:
    whole: list[bytes] = []

    async def out(program: Program) -> None:
        answer = await program.client.get("/notebook.zip")
        assert answer.status_code == 200
        whole.append(answer.content)
        refused = await program.send("/notebook.zip", answer.content, status=409)
        assert "two histories are not mixed" in refused["detail"]
        assert list(program.state.incoming.folder.iterdir()) == []

    async def into(program: Program) -> None:
        moved = await program.send("/notebook.zip", whole[0])
        assert (moved["builds"], moved["revisions"]) == (1, 1)
        (build,) = await program.get("/builds")
        assert build["name"] == "kart"
        again = await program.client.get("/notebook.zip")
        assert again.content == whole[0]

    told(notebook, out)
    (tmp_path / "other").mkdir()
    told(tmp_path / "other" / "notebook.sqlite", into)


def test_a_record_as_toml_is_what_the_command_line_reads(notebook: Path) -> None:
    async def story(program: Program) -> None:
        (revision,) = await program.get("/builds/kart/revisions")
        assert tomllib.loads(revision["record_toml"])["name"] == "Club kart 98"

    told(notebook, story)


def test_nothing_is_answered_without_a_session(notebook: Path) -> None:
    """Every way of the description, with every method: without a key there is not even a word about what is there."""

    async def story(program: Program) -> None:
        document = await program.get("/openapi.json")
        ways = [(path, method) for path, some in document["paths"].items() for method in some]
        assert len(ways) >= 59
        for path, method in ways:
            filled = path.replace("{build}", "kart").replace("{", "").replace("}", "")
            answer = await program.client.request(method, filled, headers={"authorization": ""}, json={})
            assert answer.status_code in (401, 403), (method, path)
            assert "kart" not in answer.text

    told(notebook, story)


def test_every_command_has_its_way() -> None:
    """Whoever adds a command finds here that programs want it too, or says why not."""
    import typer.main

    from scribeline.cli import app

    here = {
        "serve": "is the server itself", "new": "the work in hand: begin a build, then edits",
        "notebook migrate": "for whoever keeps the server's disk",
    }  # fmt: skip
    by_way = {
        "card", "check", "schema", "curve", "trace", "plan", "stacks", "who-limits", "sheets", "pipe", "rubbing",
        "build-card", "notebook keep", "notebook attach", "notebook list", "notebook show", "notebook diff",
        "notebook export", "notebook import", "notebook demonstration", "trial new", "trial set", "trial add",
        "trial list", "trial show", "trial drop", "trial edit", "trial undo", "trial compare", "trial runs-needed",
        "trial coast-down", "trial read-anew", "ledger predict", "ledger predict-plan", "ledger predict-road",
        "ledger beside", "ledger leave-out", "ledger lesson", "ledger show", "ledger history", "ledger compare",
        "ledger page",
    }  # fmt: skip
    commands = set()
    for name, command in typer.main.get_command(app).commands.items():  # type: ignore[attr-defined]
        inner = getattr(command, "commands", None)
        commands |= {f"{name} {one}" for one in inner} if inner else {name}
    assert commands == by_way | set(here)
