"""Refusals as problem documents (RFC 9457). The sentences are those of the errors; here they are only taken apart."""

import logging
from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel, ConfigDict, Field
from starlette.exceptions import HTTPException

from scribeline.errors import EditConflict, JobError, PlanError, Problem, RecordError, ScribelineError

STATUS = {
    "NotThereError": 404,
    "EditConflict": 409,
    "NotebookError": 409,
    "UploadError": 415,
    "JobError": 503,
    "MemoryError": 503,
}
"""By the error's class; every other refusal of ours is 422, and what is none of ours 500."""
PARTS = {"accepted": "accepted", "kept": "kept", "what to do": "what_to_do", "there is": "there_is"}
_MEDIA_TYPE = "application/problem+json"


class ProblemDocument(BaseModel):
    """A refusal. `accepted`, `kept`, `what_to_do` and `there_is` stand where the refusal says them."""

    model_config = ConfigDict(extra="allow")
    type: str = Field(description="names the kind of refusal", examples=["urn:scribeline:EditConflict"])
    title: str = Field(description="the kind in words")
    status: int
    detail: str = Field(description="what happened")
    kept: str | None = None
    what_to_do: str | None = None
    accepted: str | None = None
    there_is: str | None = None


RESPONSES: dict[int | str, dict[str, Any]] = {
    "4XX": {
        "model": ProblemDocument,
        "description": "Refused",
        "content": {_MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/ProblemDocument"}}},
    }
}


class Refused(Exception):  # noqa: N818 - it carries another error's name
    """A refusal that came from a worker process: the name of its class, its sentences, and its Problems."""

    def __init__(self, kind: str, said: str, problems: Sequence[Problem] = ()) -> None:
        self.kind, self.said, self.problems = kind, said, problems


def problem(kind: str, said: str, more: Mapping[str, Any] | None = None) -> JSONResponse:
    """The problem document of an error of this class, and its status."""
    status = STATUS.get(kind, 422 if kind.endswith("Error") else 500)
    document = {"type": f"urn:scribeline:{kind}", "title": _words(kind), "status": status, **taken_apart(said)}
    whole = {key: value for key, value in {**document, **(more or {})}.items() if value is not None or key == "theirs"}
    return JSONResponse(whole, status, media_type=_MEDIA_TYPE)


def taken_apart(said: str) -> dict[str, str]:
    """The sentences of a refusal by what they say.

    >>> taken_apart("bore 5 mm\\n    accepted: 10 to 200 mm\\n    what to do: measure again")["accepted"]
    '10 to 200 mm'
    """
    found: dict[str, list[str]] = {"detail": []}
    current = "detail"
    for line in said.splitlines():
        label, colon, rest = line.strip().partition(": ")
        if colon and label in PARTS and line.startswith("    "):
            current = PARTS[label]
            found.setdefault(current, []).append(rest)
        else:
            found[current].append(line.strip())
    return {key: " ".join(lines) for key, lines in found.items()}


def handle(app: FastAPI) -> None:
    """Have every error of this application answered as a problem."""

    @app.exception_handler(ScribelineError)
    async def _(request: Request, error: ScribelineError) -> JSONResponse:
        return problem(type(error).__name__, str(error), _more(error))

    @app.exception_handler(Refused)
    async def _(request: Request, error: Refused) -> JSONResponse:
        return problem(error.kind, error.said, _listed(error.said, error.problems))

    @app.exception_handler(RequestValidationError)
    async def _(request: Request, error: RequestValidationError) -> JSONResponse:
        places = [(".".join(str(part) for part in one["loc"]), str(one["msg"])) for one in error.errors()]
        said = "; ".join(f"{place}: {message}" for place, message in places)
        remedy = "see /api/v1/openapi.json for what this takes"
        return problem("RequestError", f"{said}\n    kept: nothing\n    what to do: {remedy}")

    @app.exception_handler(HTTPException)
    async def _(request: Request, error: HTTPException) -> JSONResponse:
        title = HTTPStatus(error.status_code).phrase
        document = {"type": "about:blank", "title": title, "status": error.status_code, "detail": str(error.detail)}
        return JSONResponse(document, error.status_code, error.headers, media_type=_MEDIA_TYPE)

    @app.exception_handler(Exception)
    async def _(request: Request, error: Exception) -> JSONResponse:
        logging.getLogger("scribeline").error("a fault of the API", exc_info=error)
        said = (
            f"a fault in scribeline ({type(error).__name__})\n    kept: everything that was kept before\n"
            "    what to do: please report it; the window in which scribeline runs says more"
        )
        return problem("Fault", said)


def _more(error: ScribelineError) -> dict[str, Any]:
    if isinstance(error, EditConflict):
        by = {"device": error.device, "label": error.label}
        return {"path": error.path, "yours": error.yours, "theirs": error.theirs, "their_edit": by}
    if isinstance(error, RecordError | PlanError):
        return _listed(str(error), error.problems)
    if isinstance(error, JobError):
        return {"kept": "everything that was kept before"}
    return {}


def _listed(said: str, problems: Sequence[Problem]) -> dict[str, Any]:
    """The Problems one by one, in place of the text that holds them all."""
    if not problems:
        return {}
    each = [vars(one) for one in problems]
    return {"detail": said.partition("\n")[0], "accepted": None, "what_to_do": None, "problems": each}


def _words(kind: str) -> str:
    """The name of a class in words.

    >>> _words("NotThereError")
    'not there'
    """
    spaced = "".join(f" {c.lower()}" if c.isupper() else c for c in kind).strip()
    return spaced.removesuffix(" error")
