"""Long work on a record: power curves, traces, searches for plans, who limits what, pipes. Each is a job."""

from typing import Any

from fastapi import APIRouter, Request

from scribeline.tasks import answers_long
from scribeline.tasks.plan_kept import folder_of
from scribeline.web.api.jobs import TOGETHER_S, Of, begun, other_record, record_toml
from scribeline.web.api.records import Held
from scribeline.web.api.shapes import JobShape
from scribeline.web.api.wishes import CurveWish, PipeWish, SearchWish, TraceWish, WhoWish, asked

router = APIRouter(tags=["jobs"])
_BEGUN: dict[str, Any] = {"status_code": 202}


@router.post("/builds/{build}/curves", **_BEGUN)
async def begin_curve(build: str, wish: CurveWish, request: Request, state: Held, of: Of = "latest") -> JobShape:
    """Have the power curve simulated, with what a plan or another record makes of it beside.

    Stopped, it gives the speeds that are done; `stopped` says what is missing.
    """
    text, origin, _ = await record_toml(state, build, of)
    other = await other_record(state, build, wish.compare_of, wish.compare_toml)
    start = state.workers.start
    return begun(
        request, start(answers_long.curve, text, origin, other, asked(wish), what="The power curve"), TOGETHER_S
    )


@router.post("/builds/{build}/traces", **_BEGUN)
async def begin_trace(build: str, wish: TraceWish, request: Request, state: Held, of: Of = "latest") -> JobShape:
    """Have one speed opened up: pressure, temperature, flow and purity, and the waves in the pipe."""
    text, origin, _ = await record_toml(state, build, of)
    other = await other_record(state, build, wish.compare_of, wish.compare_toml)
    job = state.workers.start(answers_long.trace, text, origin, other, asked(wish), what="The trace")
    return begun(request, job, TOGETHER_S)


@router.post("/builds/{build}/searches", **_BEGUN)
async def begin_search(build: str, wish: SearchWish, request: Request, state: Held, of: Of = "latest") -> JobShape:
    """Search for plans. `progress` holds the best so far; stopped, it gives what it had; asked again, it goes on."""
    text, origin, _ = await record_toml(state, build, of)
    place = folder_of(state.folder, build) / "programs"
    place.mkdir(parents=True, exist_ok=True)
    start = state.workers.start
    return begun(request, start(answers_long.search, text, origin, place, asked(wish), what="The search"), TOGETHER_S)


@router.post("/builds/{build}/who-limits", **_BEGUN)
async def begin_who_limits(build: str, wish: WhoWish, request: Request, state: Held, of: Of = "latest") -> JobShape:
    """Ports or pipe? Have a gain shared out among the groups that bring it.

    Stopped once all combinations are done, it gives the shares, with `stopped` true and a +/- from fewer engines.
    """
    text, origin, _ = await record_toml(state, build, of)
    other = await other_record(state, build, wish.against_of, wish.against_toml)
    start = state.workers.start
    return begun(
        request, start(answers_long.who_limits, text, origin, other, asked(wish), what="Who limits what"), TOGETHER_S
    )


@router.post("/builds/{build}/pipes", **_BEGUN)
async def begin_pipe(build: str, wish: PipeWish, request: Request, state: Held, of: Of = "latest") -> JobShape:
    """Have a pipe designed for a crank speed, or the fitted one read; as numbers, drawing, record or flat patterns.

    Stopped, it gives the best pipe that it had, compared as usual, which takes some seconds.
    """
    text, origin, _ = await record_toml(state, build, of)
    job = state.workers.start(answers_long.pipe, text, origin, asked(wish), what="The pipe")
    return begun(request, job, TOGETHER_S)
