"""Long answers for programs: curves, traces, searches, who limits what, pipes. Each is a job that tells and listens.

`form` says what is wanted: "json", or one of the files that the command writes. What is stopped gives what it has by
then, and says under `stopped` what is missing: a search the best so far, a curve the speeds that are done, a pipe the
best so far compared as usual, who limits what its shares once all combinations are done, a trace the first of two. Only
predictions give nothing: half a curve foretells nothing.
"""

import csv
import io
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from scribeline.engine import read_record
from scribeline.errors import CycleError
from scribeline.plan.steps import Plan
from scribeline.tasks.answers_made import Made, laid_down, made, plan_of, zipped

Tell = Callable[[Any], None]
Stopped = Callable[[], bool]
Counted = Callable[[int, int], bool | None]


def curve(
    record_toml: str, origin: str, other: tuple[str, str] | None, asked: Mapping[str, Any], *, tell: Tell,
    stopped: Stopped,
) -> str | Made:  # fmt: skip
    """The power curve; beside it that of another record, or of what a plan makes of this one.

    Stopped, it has the speeds that were done, and as `stopped` a sentence for each thing that is missing.
    """
    from scribeline.plan.carry_out import carry_out
    from scribeline.tasks import curve as tasks
    from scribeline.tasks import curve_sure
    from scribeline.tasks.curve_asked import knobs_of
    from scribeline.tasks.curve_page import curve_drawing, curve_page
    from scribeline.tasks.curve_text import curve_text

    records = [read_record(record_toml, origin)]
    plan = plan_of(asked["steps"], asked["plan_toml"])
    if plan.steps:
        records.append(carry_out(records[0], plan.steps, plan.box))
    elif other is not None:
        records.append(read_record(*other))
    speeds = tasks.speeds_of(asked["speeds"]) if asked["speeds"] else None
    settings = tasks.settings(asked["cell_mm"], _air(asked), knobs_of(asked["knobs"]))
    curves: list[tasks.Curve] = []
    missing: list[str] = []
    for words, record in zip(("the curve", "the other curve"), records, strict=False):
        if missing:  # stopped
            missing.append(f"{words} was not begun")
            break
        one = tasks.power_curve(
            record, speeds, settings, throttle=asked["throttle"], blow_by_mm2=asked["blow_by_mm2"],
            progress=_counted(words, tell, stopped), so_far=True,
        )  # fmt: skip
        undone = tasks.left_undone(one)
        if undone:
            missing.append(f"{words} has {len(one.points) - len(undone)} of {len(one.points)} speeds")
        further: list[tuple[Any, str]] = [
            (curve_sure.with_coarser, f"{words}, coarser"),
            (curve_sure.with_downward, f"{words}, from fast to slow"),
            (curve_sure.with_later, f"{words}, turned on"),
        ] if asked["how_sure"] else []  # fmt: skip
        if asked["plus_minus"]:
            further.append((curve_sure.with_plus_minus, f"{words}, within the +/-"))
        for make, of in further:
            try:
                if missing:
                    raise CycleError("stopped")
                one = make(one, progress=_counted(of, tell, stopped))
            except CycleError:
                if not stopped():
                    raise
                missing.append(f"{of}, is missing")
        speeds = [point.speed_rpm for point in one.points]
        curves.append(one)
    both = curves[0], curves[1] if len(curves) > 1 else None
    match asked["form"]:
        case "csv":
            return made(tasks.curve_csv(*both), "curve.csv")
        case "text":
            return made(curve_text(*both), "curve.txt")
        case "page":
            return made(curve_page(*both), "curve.html")
        case "svg" | "png" as kind:
            return _picture(curve_drawing(*both), "curve", kind)
        case "npz":
            with laid_down({}) as folder:
                tasks.save_curve(both[0], folder / "curve.npz")
                return made((folder / "curve.npz").read_bytes(), "curve.npz")
    document = tasks.curve_json(*both)
    return document if not missing else json.dumps({**json.loads(document), "stopped": missing}, ensure_ascii=False)


def trace(
    record_toml: str, origin: str, other: tuple[str, str] | None, asked: Mapping[str, Any], *, tell: Tell,
    stopped: Stopped,
) -> str | Made:  # fmt: skip
    """One speed opened up, a row for every half degree of crank; as JSON, a list of numbers for each column.

    other : another record at the same speed, beside the first; a table has only the first
    """
    from scribeline.tasks import trace as tasks
    from scribeline.tasks.curve import settings
    from scribeline.tasks.curve_asked import knobs_of
    from scribeline.tasks.curve_page import trace_page
    from scribeline.tasks.trace_more import over_drawing

    speed_rpm, settled = asked["speed_rpm"], settings(asked["cell_mm"], _air(asked), knobs_of(asked["knobs"]))
    records = [read_record(record_toml, origin), *([read_record(*other)] if other else [])]
    traces = []
    for number, record in enumerate(records):
        if number and stopped():
            break
        tell({"doing": "the trace", "done": number, "of": len(records)})
        traces.append(
            tasks.trace(
                record, speed_rpm, settled, throttle=asked["throttle"], blow_by_mm2=asked["blow_by_mm2"]
            )
        )  # fmt: skip
    one, beside = traces[0], traces[1] if len(traces) > 1 else None
    match asked["form"]:
        case "csv":
            return made(tasks.trace_csv(one), "trace.csv")
        case "text":
            return made(tasks.trace_text(one, beside), "trace.txt")
        case "page":
            return made(trace_page(one, beside), "trace.html")
        case "svg" | "png" as kind:
            return _picture(over_drawing(one, beside) if beside else tasks.trace_drawings(one)[-1], "trace", kind)
    document = {"engine": records[0].name, "speed_rpm": speed_rpm, "columns": _columns(tasks.trace_csv(one))}
    if beside is not None:
        document["other"] = {"engine": records[1].name, "columns": _columns(tasks.trace_csv(beside))}
    elif other:
        document["stopped"] = ["the other trace was not begun"]
    return json.dumps(document)


def _columns(table: str) -> dict[str, list[float | str | None]]:
    """A table as one list for each column."""
    heads, *rows = csv.reader(io.StringIO(table))
    return {head: [_number(row[place]) for row in rows] for place, head in enumerate(heads)}


def search(
    record_toml: str, origin: str, place: Path, asked: Mapping[str, Any], *, tell: Tell, stopped: Stopped
) -> str | Made:
    """Plans for a goal. Its progress has the best in words, and as "so_far" what the result would be if it stopped.

    An interrupted search goes on when it is asked for again.

    place : a folder in which what was tried is kept
    """
    from scribeline.plan.plan_file import write_plan
    from scribeline.plan.wanted import Wanted
    from scribeline.tasks import plan_found
    from scribeline.tasks.plan_kept import kept
    from scribeline.tasks.search import ALSO, keep_of, tools_of

    record, plan = read_record(record_toml, origin), plan_of((), asked["plan_toml"])
    words = {key: word for word, key in ALSO.items()}
    also = None if asked["also"] is None else tuple(words[key] for key in _also(asked["also"]))
    tools = None if asked["tools"] is None else tools_of(asked["tools"])
    wanted = Wanted(goal=asked["goal"], tools=tools, keep=keep_of(asked["keep"]), also=also)
    plan = replace(_with_gaskets(plan, asked["gaskets"]), wanted=wanted)

    so_far: dict[str, Any] | None = None

    def with_files(document: dict[str, Any]) -> dict[str, Any]:
        for one in (*document["front"], *document["plans"]):
            one["plan_toml"] = write_plan(replace(plan, steps=plan_of_steps(one["steps"]).steps))
        return document

    def told(progress: Mapping[str, Any]) -> None:
        nonlocal so_far
        if progress["kept"] and (document := kept(place, "search")) is not None:
            so_far = with_files({**document, "state": "stopped"})
        tell({**progress, "so_far": so_far} if so_far else dict(progress))

    found = with_files(plan_found.search(place, "", record, plan, asked["evaluations"], tell=told, stopped=stopped))
    if asked["form"] in ("svg", "png"):
        return _picture(plan_found.front_drawing(found), "plans", asked["form"])
    return json.dumps(found)


def plan_of_steps(steps: Sequence[Mapping[str, Any]]) -> Plan:
    """Steps as the document of the work in hand has them, as a plan."""
    from scribeline.tasks.in_hand import plan_toml

    return plan_of((), plan_toml({"plan": {"steps": list(steps)}}))


def who_limits(
    record_toml: str, origin: str, other: tuple[str, str] | None, asked: Mapping[str, Any], *, tell: Tell,
    stopped: Stopped,
) -> str | Made:  # fmt: skip
    """Ports or pipe? The gain of a plan, or towards another record, shared out among its groups."""
    from scribeline.tasks.search import tools_of, who_json, who_of
    from scribeline.tasks.search_page import who_drawing
    from scribeline.tasks.search_text import who_text

    def progress(what: str, done: int, count: int, best: str) -> bool:
        tell({"doing": what, "done": done, "of": count})
        return stopped()

    record = read_record(record_toml, origin)
    plan = _with_gaskets(plan_of(asked["steps"], asked["plan_toml"]), asked["gaskets"])
    taken_over = read_record(*other) if other else None
    tools = tools_of(asked["tools"])
    who = who_of(record, asked["goal"], plan, taken_over, tools=tools, draws=asked["draws"], progress=progress)
    match asked["form"]:
        case "text":
            return made("\n".join(who_text(record, who)), "who-limits.txt")
        case "svg" | "png" as kind:
            return _picture(who_drawing(who), "who-limits", kind)
    return json.dumps(who_json(who), allow_nan=False)


def pipe(record_toml: str, origin: str, asked: Mapping[str, Any], *, tell: Tell, stopped: Stopped) -> str | Made:
    """A pipe designed for a crank speed, or what the fitted one is tuned for; its record, drawing or flat patterns.

    Stopped, the search ends, and the best it had is still compared with the fitted pipe, which takes some seconds.
    """
    from scribeline.tasks import pipe as tasks
    from scribeline.tasks.pipe_files import pipe_wishes, report_drawing, write_patterns
    from scribeline.tasks.pipe_record import write_record_with
    from scribeline.tasks.pipe_text import pipe_json, pipe_text

    def progress(what: str, done: int, count: int) -> bool:
        tell({"doing": what, "done": done, "of": count})
        return what == "searching" and stopped()

    making = ("metal_mm", "gap_mm", "overlap_mm", "stock", "joint_deg", "paper", "formats", "bar_across", "bar_up")
    wishes = pipe_wishes(*(asked[name] for name in making))
    record = read_record(record_toml, origin)
    if asked["speed_rpm"] is None:
        report = tasks.read_pipe(record, simulate=not asked["first_shape"], progress=progress)
    else:
        of_shape = (
            "speed_rpm", "goal", "diffusers", "header_mm", "longest_mm", "widest_outside_mm", "steepest_diffuser_deg",
            "steepest_baffle_deg", "stinger_least_mm", "stinger_most_mm", "stinger_length_mm",
        )  # fmt: skip
        wanted = tasks.Wanted(
            **{name: asked[name] for name in of_shape}, sheet_mm=asked["metal_mm"], first_only=asked["first_shape"]
        )
        report = tasks.design_pipe(record, wanted, progress=progress)
    match asked["form"]:
        case "text":
            return made(pipe_text(report), "pipe.txt")
        case "svg" | "png" as kind:
            return _picture(report_drawing(report), "pipe", kind)
        case "record":
            with laid_down({"engine.toml": record_toml}) as folder:
                target = folder / "engine with pipe.toml"
                write_record_with(folder / "engine.toml", report.record, report.chosen.sections, target)
                return made(target.read_bytes(), "engine-with-pipe.toml")
        case "patterns":
            with laid_down({"engine.toml": record_toml}) as folder:
                (folder / "patterns").mkdir()
                files = write_patterns(report, wishes, folder / "engine.toml", folder / "patterns")
                return zipped({file.name: file.read_bytes() for file in files}, "pipe-patterns.zip")
    return pipe_json(report)


def road_predictions(
    build: str, asked: Mapping[str, Any], author: str, where: Any, *, tell: Tell, stopped: Stopped
) -> str:
    """A revision simulated and driven through gates; what comes out is kept in the ledger."""
    from scribeline.tasks.curve import speeds_of
    from scribeline.tasks.ledger_predicting import keep_road_predictions
    from scribeline.tasks.ledger_text import promises_json

    def progress(done: int, count: int) -> None:
        tell({"doing": "the curve", "done": done, "of": count})
        if stopped():
            raise CycleError("The prediction was stopped.\n    kept: nothing of it\n    what to do: ask again")

    plan = plan_of(asked["steps"], asked["plan_toml"])
    kept = keep_road_predictions(
        build, asked["gates"], revision=asked["revision"], plan=plan if plan.steps else None, air=asked["air"],
        speeds_rpm=speeds_of(asked["speeds"]) if asked["speeds"] else None, note=asked["note"], author=author,
        progress=progress, where=where,
    )  # fmt: skip
    return promises_json(kept)


def _counted(words: str, tell: Tell, stopped: Stopped) -> Counted:
    def progress(done: int, count: int) -> bool:
        tell({"doing": words, "done": done, "of": count})
        return stopped()

    return progress


def _with_gaskets(plan: Plan, typed: str | None) -> Plan:
    """More gaskets at hand, from a typed list: no file is read that a program names."""
    from scribeline.plan.typed_gaskets import gaskets_of
    from scribeline.tasks.search import in_one

    return replace(plan, box=in_one(plan.box, gaskets_of(typed))) if typed else plan


def _also(words: str) -> tuple[str, ...]:
    from scribeline.tasks.search import also_of

    return also_of(words)


def _air(asked: Mapping[str, Any]) -> Any:
    from scribeline.tasks.curve import air_outside

    return air_outside(asked["air_hpa"], asked["air_c"], asked["humidity_percent"])


def _picture(drawing: Any, name: str, kind: str) -> Made:
    from scribeline.tasks.verdict_files import picture

    return made(picture(drawing, f".{kind}"), f"{name}.{kind}")


def _number(cell: str) -> float | str | None:
    try:
        return float(cell)
    except ValueError:
        return cell or None
