"""Puts the server together: guard around everything, the JSON API, our own files, and every page."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import partial
from importlib.resources import files
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from nicegui import app as pages_app
from nicegui import context, core, ui

from scribeline.errors import NotThereError, ScribelineError
from scribeline.tasks.inline_drawings import drawing_style
from scribeline.tasks.measuring_state import warm
from scribeline.web import api
from scribeline.web.desk import OpenDesk
from scribeline.web.guard import device_of
from scribeline.web.lost import no_such_cylinder, register_lost_pages
from scribeline.web.pages import PAGES, STEP_PAGES
from scribeline.web.routes import answer_refusals, routes
from scribeline.web.shell import StepPage, begin_page, broken, failure, frame, show_conflict
from scribeline.web.state import State

STATIC = Path(str(files("scribeline.web").joinpath("static")))
PULSE_S = 20.0  # judgement: a browser that misses two of them says that the connection is lost, and tries again
RECONNECT_S = 600.0  # a phone that slept this long finds its page as it left it; after that the page loads anew


def make_app(state: State) -> FastAPI:
    """The whole server but its guard."""

    @asynccontextmanager
    async def running(_: FastAPI) -> AsyncIterator[None]:
        # The framework takes most of RECONNECT_S, and keeps each socket that was closed for as long.
        core.sio.eio.ping_interval = core.sio.eio.ping_timeout = PULSE_S
        state.workers.open()
        watching = asyncio.create_task(state.hub.watch())
        warming = asyncio.create_task(asyncio.to_thread(warm))  # or the first page with drawings would, in the loop
        yield
        watching.cancel()
        warming.cancel()
        await state.workers.close()

    whole = FastAPI(title="scribeline", docs_url=None, redoc_url=None, openapi_url=None, lifespan=running)
    whole.mount("/api/v1", api.application(state))
    register_pages(state)
    ui.run_with(
        whole, title="scribeline", favicon=STATIC / "mark.svg", language="en-US", reconnect_timeout=RECONNECT_S,
        tailwind=False, show_welcome_message=False, binding_refresh_interval=None,
    )  # fmt: skip
    return whole


def register_pages(state: State) -> None:
    """Make every page known to the framework, and what each of them loads."""
    pages_app.add_static_files("/static", STATIC)
    # A bar at the top that moves at every request says nothing, and has no name for those who do not see it.
    pages_app.config.quasar_config.setdefault("loadingBar", {})["skipHijack"] = True
    ui.add_head_html(f"<style>{drawing_style()}</style>", shared=True)
    ui.add_head_html('<link rel="stylesheet" href="/static/look.css">', shared=True)
    ui.add_head_html('<link rel="stylesheet" href="/static/help.css">', shared=True)
    ui.add_head_html('<script type="module" src="/static/scribeline.js"></script>', shared=True)
    ui.add_head_html('<script type="module" src="/static/focus.js"></script>', shared=True)
    ui.add_head_html('<script type="module" src="/static/choices.js"></script>', shared=True)
    ui.add_head_html('<script type="module" src="/static/passing.js"></script>', shared=True)
    ui.add_head_html('<script type="module" src="/static/help.js"></script>', shared=True)
    pages_app.include_router(routes(state))
    answer_refusals(pages_app)
    register_lost_pages()
    for path, build in PAGES.items():
        ui.page(path)(partial(build, state))
    for step, (title, build_step) in STEP_PAGES.items():
        _register_step(state, step, title, build_step)


def _register_step(state: State, step: str, title: str, build_step: Any) -> None:
    @ui.page(f"/cylinder/{{build}}/{step}")
    def page_of_step(build: str) -> None:
        preferences = begin_page(f"{title}: {build}")
        client = context.client
        request = client.request
        let_in = device_of(request.scope) if request is not None else None
        device = preferences.device or (let_in.name if let_in is not None else "this computer")
        try:
            desk = OpenDesk(state.hub, build, device, lambda: client.run_javascript("return 0", timeout=RECONNECT_S))
        except NotThereError:
            no_such_cylinder(state, build, step)
            return
        desk.on_conflict = lambda conflict, insist: _in(client, partial(show_conflict, conflict, insist))
        client.on_delete(desk.close)
        query = dict(request.query_params) if request is not None else {}
        page = StepPage(state, build, step.split("/", 1)[0], desk, preferences, client, query)
        with frame(build, page=page, help_page=f"tutorial/page-{step.replace('/', '-')}"):
            try:
                build_step(page)
            except ScribelineError as refusal:
                failure(refusal)
            except Exception as error:  # whatever it is, the cylinder must stay reachable by its other steps
                broken(error)


def _in(client: Any, do: Any) -> None:
    with client:
        do()
