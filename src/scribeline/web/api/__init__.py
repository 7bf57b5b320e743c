"""The same tasks for programs: JSON over HTTP under /api/v1, described by /api/v1/openapi.json, behind the same guard.

problems.py   every refusal as a problem document (RFC 9457): what happened, what was kept, what to do
shapes.py     what goes in and comes out
wishes.py     what is sent to have something worked out
records.py    builds, revisions, work in hand, files
whole.py      the notebook as a whole, and records by themselves
answers.py    what is worked out at once: card, what-if, operations, stacks, sheets, ports from a rubbing
long.py       what takes long: curves, traces, searches, who limits what, pipes
jobs.py       such work asked after, stopped, and its result
trials.py     trials, from files to a verdict
ledger.py     predictions, what was measured, lessons, history
"""

from fastapi import FastAPI

from scribeline import __version__
from scribeline.web.api import answers, jobs, ledger, long, problems, records, trials, whole
from scribeline.web.state import State

ABOUT = """\
Everything that the pages do, for programs of your own. Ask for a key under Settings and send it with each request as
`Authorization: Bearer KEY`. Lengths are in mm, angles in degrees of crank, unless a name says otherwise. A refusal is a
problem document (RFC 9457) that says what happened, what was kept and what to do.
"""


def application(state: State) -> FastAPI:
    """The API as an application of its own, to be mounted at /api/v1."""
    app = FastAPI(
        title="scribeline", version=__version__, description=ABOUT, docs_url=None, redoc_url=None,
        openapi_url="/openapi.json", responses=problems.RESPONSES,
    )  # fmt: skip
    app.state.scribeline = state
    app.state.jobs = jobs.Jobs()
    for part in (records, whole, answers, long, jobs, trials, ledger):
        app.include_router(part.router)
    problems.handle(app)
    return app
