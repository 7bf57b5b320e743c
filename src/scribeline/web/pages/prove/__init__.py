"""Prove: test runs brought in, corrected, compared, to an honest verdict.

open_trial.py   the trial at hand as the page sees it: loaded, watched for what other devices add, corrected
begin.py        the trials of this cylinder, and beginning one
before.py       before driving: how many runs, in which order; what the day was like
bring.py        files dropped, read by a worker, kept; columns said where a table was not understood
coasting.py     rolling and air drag from those recordings that are roll-outs
turns.py        undo and redo in the head: the trial and the work in hand as one
typing.py       times typed into a grid
pulls.py        recordings with their pulls on the trace and on the sound picture
anew.py         one of them read anew, told better how
trace.py        the markup of a trace with its bands
verdict.py      setups compared, pictures and tables to take away
"""

from nicegui import ui

from scribeline.web.pages.prove.before import before_driving, the_day
from scribeline.web.pages.prove.begin import all_trials, trial_head
from scribeline.web.pages.prove.bring import bring_in
from scribeline.web.pages.prove.open_trial import OpenTrial
from scribeline.web.pages.prove.pulls import recordings
from scribeline.web.pages.prove.typing import typed_times
from scribeline.web.pages.prove.verdict import verdict
from scribeline.web.shell import StepPage, cautions, text

PARTS = (
    ("before", "Before you drive"),
    ("bring", "Bring in recordings"),
    ("typed", "Type times"),
    ("pulls", "Pulls"),
    ("day", "The day"),
    ("verdict", "Verdict"),
)


def build(page: StepPage) -> None:
    """Build the page: one trial where the address names it, else all of this cylinder's."""
    ui.add_head_html('<link rel="stylesheet" href="/static/prove.css">')
    ui.add_head_html('<script type="module" src="/static/prove.js"></script>')
    cautions("trial")
    name = page.query.get("trial")
    if not name:
        all_trials(page)
        return
    trial = OpenTrial(page, name)
    trial_head(trial)
    with ui.element("nav").classes("on-this-sheet").props('aria-label="On this sheet"'):
        for anchor, words in PARTS:
            with ui.element("a").props(f'href="#{anchor}"'):
                text(words, "span")
    makers = (before_driving, bring_in, typed_times, recordings, the_day, verdict)
    for (anchor, words), make in zip(PARTS, makers, strict=True):
        with ui.element("section").classes("part").props(f'id="{anchor}"'):
            text(words, "h2")
            make(trial)
    trial.begin()
