"""What is worked out from a record at once. It runs in the worker processes."""

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request, Response

from scribeline.tasks import answers, answers_files
from scribeline.web.api.jobs import FILE_OR_JSON, Of, answered, other_record, outcome, record_toml
from scribeline.web.api.records import Held
from scribeline.web.api.wishes import BuildCardWish, CardWish, SheetsWish, WhatIf, asked

router = APIRouter(tags=["worked out"])
_ZIP: dict[int | str, dict[str, Any]] = {200: {"content": {"application/zip": {}}}}
_PICTURE: dict[int | str, dict[str, Any]] = {200: {"content": {"image/png": {}, "image/svg+xml": {}}}}


@router.get("/builds/{build}/card", response_model=dict[str, Any])
async def card(build: str, state: Held, of: Of = "latest", speed_rpm: float | None = None) -> Response:
    """The engine card: every derived number with its +/-, formula and source, and the warnings."""
    text, origin, _ = await record_toml(state, build, of)
    job = state.workers.start(answers.card, text, origin, speed_rpm, what="The card", quick=True)
    return answered(await outcome(job))


@router.post("/builds/{build}/card", response_model=dict[str, Any], responses=FILE_OR_JSON)
async def card_as(build: str, wish: CardWish, state: Held, of: Of = "latest") -> Response:
    """The engine card with limits of one's own, as a page, or the working of some numbers."""
    text, origin, _ = await record_toml(state, build, of)
    job = state.workers.start(answers_files.card_as, text, origin, asked(wish), what="The card", quick=True)
    return answered(await outcome(job))


@router.post("/builds/{build}/build-card", response_class=Response, responses=_PICTURE)
async def build_card(build: str, wish: BuildCardWish, state: Held, of: Of = "latest") -> Response:
    """A picture of the engine's timing before and after, to show to others."""
    text, origin, _ = await record_toml(state, build, of)
    after = await other_record(state, build, wish.after_of, wish.after_toml)
    looks = wish.model_dump(include={"square", "dark", "transparent"})
    job = state.workers.start(
        answers_files.build_card, text, origin, wish.plan_toml, after, wish.form, looks, what="The picture", quick=True
    )
    return answered(await outcome(job))


@router.post("/builds/{build}/what-if", response_model=dict[str, Any])
async def what_if(build: str, wish: WhatIf, state: Held, of: Of = "latest") -> Response:
    """What a plan would move, before any metal is cut; from some step on, with what was measured. Nothing is kept."""
    text, origin, _ = await record_toml(state, build, of)
    measured = await other_record(state, build, wish.measured_of, wish.measured_toml)
    job = state.workers.start(answers.what_if, text, origin, asked(wish), measured, what="The plan", quick=True)
    return answered(await outcome(job))


@router.get("/builds/{build}/operations", response_model=list[dict[str, Any]])
async def operations(build: str, state: Held, of: Of = "latest", plan_toml: str | None = None) -> Response:
    """What can be done to this engine, where, and how far; with the parts at hand of a plan file."""
    text, origin, _ = await record_toml(state, build, of)
    job = state.workers.start(answers.operations, text, origin, plan_toml, what="The operations", quick=True)
    return answered(await outcome(job))


@router.get("/builds/{build}/stacks", response_model=dict[str, Any])
async def stacks(
    build: str,
    state: Held,
    of: Of = "latest",
    gaskets: Annotated[str | None, Query(examples=["base 0.5x2 0.3, head 0.8"], max_length=2000)] = None,
    tools: Annotated[str | None, Query(examples=["file, glass plate"], max_length=2000)] = None,
    most: Annotated[int, Query(ge=1, le=200)] = 8,
    low_mm: Annotated[float | None, Query(description="least squish gap at its tightest place")] = None,
    high_mm: Annotated[float | None, Query(description="most squish gap, mean")] = None,
) -> Response:
    """Gasket stacks that set the squish, least metal first."""
    text, origin, _ = await record_toml(state, build, of)
    job = state.workers.start(
        answers.stacks, text, origin, gaskets, tools, most, (low_mm, high_mm), what="The gasket stacks", quick=True
    )
    return answered(await outcome(job))


@router.post("/builds/{build}/sheets", response_class=Response, responses=_ZIP)
async def sheets(build: str, wish: SheetsWish, state: Held, of: Of = "latest") -> Response:
    """The sheets to print and mark out by, in one zip."""
    text, origin, revision = await record_toml(state, build, of)
    job = state.workers.start(
        answers.sheets, text, origin, revision, wish.steps, wish.plan_toml, asked(wish), what="The sheets", quick=True
    )
    return Response(await outcome(job), media_type="application/zip")


@router.post(
    "/builds/{build}/rubbing",
    response_model=dict[str, Any],
    responses=FILE_OR_JSON,
    openapi_extra={"requestBody": {"content": {"application/octet-stream": {}}, "required": True}},
)
async def rubbing(
    build: str,
    request: Request,
    state: Held,
    name: str,
    of: Of = "latest",
    form: Annotated[
        Literal["json", "svg", "png", "record"],
        Query(description="what was found, the outlines over the photograph, or the record with these ports"),
    ] = "json",
    port: Annotated[list[str], Query(description="NUMBER=NAME:ROLE for an opening that the record lacks")] = [],  # noqa: B006
    accept: Annotated[list[int], Query(description="believe an opening in doubt, by its number")] = [],  # noqa: B006
    replace: Annotated[bool, Query(description="also write over what another instrument measured")] = False,
    thickness_mm: Annotated[float, Query(ge=0, le=0.5, description="of the paper")] = 0.10,
    bar_along: Annotated[str | None, Query(description="what the 100 mm bar along the deck line measured")] = None,
    bar_down: Annotated[str | None, Query(description="what the bar at right angles to it measured")] = None,
    deck: Annotated[str | None, Query(description="a scan without markers: X1,Y1,X2,Y2 of the deck line")] = None,
    middle: Annotated[str | None, Query(description="X,Y of a point below the exhaust's middle")] = None,
    ruler: Annotated[str | None, Query(description="X1,Y1,X2,Y2,MM of a ruler in the scan")] = None,
) -> Response:
    """Ports measured on a photograph of a rubbing, sent as the body. Look at the outlines before you keep it."""
    text, origin, _ = await record_toml(state, build, of)
    wish = {
        "form": form, "port": port, "accept": accept, "replace": replace, "thickness_mm": thickness_mm,
        "bar_along": bar_along, "bar_down": bar_down, "deck": deck, "middle": middle, "ruler": ruler,
    }  # fmt: skip
    upload = await state.incoming.take(request.stream(), name, ["photo"])
    try:
        job = state.workers.start(
            answers_files.rubbing, upload.path, text, origin, wish, what=f"The rubbing {upload.name}",
            limits=upload.kind.limits,
        )  # fmt: skip
        return answered(await outcome(job))
    finally:
        upload.discard()
