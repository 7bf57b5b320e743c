"""What is shown in place of a page that is not there, or that broke while it was built."""

import logging
from collections.abc import Sequence
from functools import partial

from fastapi import Request, Response
from nicegui import Client, ui
from nicegui import app as pages_app
from nicegui.page import page as page_of
from starlette.exceptions import HTTPException

from scribeline.errors import ScribelineError
from scribeline.tasks.cylinders import alike
from scribeline.tasks.desk import begin_build
from scribeline.tasks.page_words import on_page
from scribeline.web.shell import begin_page, button, frame, guarded, link, section, step_url, text
from scribeline.web.state import State


def register_lost_pages() -> None:
    """Have both shown in the frame of the other pages."""

    @pages_app.exception_handler(404)
    async def not_there(request: Request, error: Exception) -> Response:
        if "text/html" not in request.headers.get("accept", ""):
            return Response("not there", 404, media_type="text/plain")
        return _shown(request, 404, "There is no page here", ["The address is wrong, or is of an older version."])

    @pages_app.exception_handler(Exception)
    async def broken(request: Request, error: Exception) -> Response:
        if isinstance(error, HTTPException):
            return Response(str(error.detail), error.status_code, media_type="text/plain")
        if isinstance(error, RuntimeError) and str(error) == "No response returned.":
            return Response(status_code=499)  # the framework's words for a browser that went away before its answer
        if isinstance(error, ScribelineError):
            return _shown(request, 500, "That did not work", on_page(str(error)).splitlines())
        logging.getLogger("scribeline").error("a page broke", exc_info=error)
        said = [
            f"A fault in scribeline broke this page ({type(error).__name__}).",
            "Kept: everything that you entered before.",
            "What to do: load the page again. If that does not help, please report what the window in which scribeline "
            "runs says.",
        ]
        return _shown(request, 500, "This page broke", said)


def no_such_cylinder(state: State, wished: str, step: str) -> None:
    """What stands in place of a page of a cylinder that is not there: the nearest ones, and this one to begin.

    step : which page it is, for those that are meant
    """
    with frame("No such cylinder"):
        text(f"There is no cylinder called {wished!r} in this notebook.")
        near = alike(wished, where=state.notebook)
        if near:
            with section("Did you mean"), ui.element("ul").classes("lacks"):
                for name in near:
                    with ui.element("li"):
                        link(name, step_url(name, step))

        def begin() -> None:
            ui.navigate.to(step_url(begin_build(wished, where=state.notebook).build, "measure"))

        with section("If it is a new one"):
            button(f"Begin measuring {wished}", partial(guarded, begin), kind="chief")
        with ui.element("p"):
            link("All cylinders", "/")


def _shown(request: Request, status: int, title: str, sentences: Sequence[str]) -> Response:
    with Client(page_of(""), request=request) as client:
        begin_page(title)
        with frame(title):
            for sentence in sentences:
                text(sentence)
            with ui.element("p"):
                link("All cylinders", "/")
    return client.build_response(request, status)
