"""Learning: what was foretold, what was measured beside it, lessons, and the history of a build."""

import json
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request, Response

from scribeline.tasks import answers_files, answers_long
from scribeline.tasks import ledger as tasks
from scribeline.tasks.answers_made import plan_of
from scribeline.tasks.ledger_beside import set_beside, set_revision_beside, set_trial_beside
from scribeline.tasks.ledger_predicting import keep_plan_predictions, keep_prediction
from scribeline.tasks.ledger_text import promises_json
from scribeline.tasks.notebook import user_name
from scribeline.web.api.jobs import FILE_OR_JSON, answered, begun, outcome
from scribeline.web.api.problems import Refused
from scribeline.web.api.records import Held
from scribeline.web.api.shapes import JobShape, Kept
from scribeline.web.api.wishes import (
    Because,
    Beside,
    Lesson,
    PlanPrediction,
    Prediction,
    RoadPrediction,
    asked,
)

router = APIRouter(tags=["ledger"])
Drawn = Annotated[Literal["json", "text", "svg", "png"], Query(description="a document, words or a drawing")]


@router.get("/builds/{build}/ledger", response_model=dict[str, Any], responses=FILE_OR_JSON)
async def show_ledger(build: str, state: Held, form: Drawn = "json") -> Response:
    """Predictions beside what was measured, and what they teach."""
    job = state.workers.start(answers_files.ledger, build, form, state.notebook.address, what="The ledger", quick=True)
    return answered(await outcome(job))


@router.post("/builds/{build}/ledger/predictions", status_code=201, response_model=list[dict[str, Any]])
def predict(build: str, new: Prediction, state: Held) -> Response:
    """Keep a prediction of one's own. It cannot be changed afterwards."""
    kept = keep_prediction(build, **asked(new), where=state.notebook)
    return _promises([kept])


@router.post("/builds/{build}/ledger/plan-predictions", status_code=201, response_model=list[dict[str, Any]])
def predict_plan(build: str, new: PlanPrediction, state: Held) -> Response:
    """Keep what a plan says of the engine card."""
    plan = plan_of(new.steps, new.plan_toml)
    kept = keep_plan_predictions(
        build, plan, steps=new.first_steps, revision=new.revision, note=new.note, author=new.author,
        where=state.notebook,
    )  # fmt: skip
    return _promises(kept)


@router.post("/builds/{build}/ledger/road-predictions", status_code=202)
async def predict_road(build: str, new: RoadPrediction, request: Request, state: Held) -> JobShape:
    """Simulate a revision, drive it through gates, and keep what comes out; a job."""
    job = state.workers.start(
        answers_long.road_predictions, build, asked(new), new.author or user_name(), state.notebook.address,
        what="The prediction",
    )  # fmt: skip
    return begun(request, job)


@router.post("/builds/{build}/ledger/measurements", status_code=201, response_model=list[dict[str, Any]])
def set_measured_beside(build: str, new: Beside, state: Held) -> Response:
    """Set beside predictions what was measured: a typed value, a trial, or the record measured again."""
    if new.trial is not None:
        some = [new.prediction] if new.prediction is not None else []
        found = set_trial_beside(
            build, new.trial, setup=new.setup, predictions=some, author=new.author, where=state.notebook
        )
    elif new.measured_again:
        found = set_revision_beside(build, author=new.author, where=state.notebook)
    elif new.prediction is None or new.value is None or new.plus_minus is None:
        raise Refused(
            "RequestError",
            "nothing was measured\n    accepted: prediction, value and plus_minus; or trial; or measured_again\n"
            "    what to do: send one of them",
        )
    else:
        found = [
            set_beside(
                build, new.prediction, new.value, new.plus_minus, seen_in=new.seen_in, author=new.author,
                where=state.notebook,
            )
        ]  # fmt: skip
    return _promises(found)


@router.post("/builds/{build}/ledger/{entry}/leave-out", status_code=204)
def leave_out(build: str, entry: int, new: Because, state: Held) -> None:
    """Leave an entry out from now on. It stays readable, with the reason."""
    tasks.leave_out(build, entry, new.because, author=new.author, where=state.notebook)


@router.post("/builds/{build}/ledger/lessons", status_code=201)
def write_lesson(build: str, new: Lesson, state: Held) -> Kept:
    """Write a lesson down for the next cylinder, or the next builder."""
    kept = tasks.write_lesson(build, new.words, revision=new.revision, author=new.author, where=state.notebook)
    return Kept(entry=kept.number)


@router.get("/builds/{build}/history", response_model=dict[str, Any], responses=FILE_OR_JSON)
async def show_history(
    build: str, state: Held, form: Literal["json", "text", "svg", "png", "page"] = "json"
) -> Response:
    """What happened to a build, in order of time; `page` is what it taught, for the next builder."""
    job = state.workers.start(answers_files.history, build, form, state.notebook.address, what="The history")
    return answered(await outcome(job))


@router.get("/builds/{build}/beside", response_model=dict[str, Any], responses=FILE_OR_JSON)
async def lay_beside(
    build: str, before: int, after: int, state: Held, form: Literal["json", "text", "svg"] = "json"
) -> Response:
    """Two revisions laid beside each other: readings and what follows from them, or drawings of both in a zip."""
    job = state.workers.start(
        answers_files.two_revisions, build, before, after, form, state.notebook.address, what="The comparison"
    )
    return answered(await outcome(job))


def _promises(kept: Any) -> Response:
    return Response(json.dumps(json.loads(promises_json(kept))), 201, media_type="application/json")
