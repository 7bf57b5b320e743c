"""The frame around every page: whose cylinder it is, the six steps, undo and redo, help, and what goes wrong.

A step of the job is a function `build(page)`. The shell makes the `StepPage`, calls it, and shows what it refuses.
"""

import copy
import functools
import inspect
import json
import logging
from collections.abc import Callable, Coroutine, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from html import escape
from typing import Literal, Protocol, get_args
from urllib.parse import quote
from weakref import WeakKeyDictionary

from fastapi.dependencies import models as fastapi_models
from nicegui import Client, context, events, ui

from scribeline.errors import EditConflict, ScribelineError
from scribeline.tasks.cautions import cautions_text
from scribeline.tasks.page_words import on_page
from scribeline.units import Units, with_inches
from scribeline.web.desk import OpenDesk
from scribeline.web.drawing import NOT_TO_SCALE
from scribeline.web.preferences import Preferences, cookie_text, preferences_of
from scribeline.web.state import State

STEPS = (
    ("measure", "Measure"),
    ("work-out", "Work out"),
    ("plan", "Plan"),
    ("mark-out", "Mark out"),
    ("prove", "Prove"),
    ("learn", "Learn"),
)


Turn = Literal["undo", "redo"]


@dataclass
class StepPage:
    """One open page of one cylinder: everything that a step needs.

    on_units : shows every length anew in other units; where a step has none, its page is loaded anew
    turns : what undo and redo in the head act on; None for the work in hand
    show_turns : has the head say anew what they would do
    """

    state: State
    build: str
    step: str
    desk: OpenDesk
    preferences: Preferences
    client: Client
    query: dict[str, str] = field(default_factory=dict)
    on_units: Callable[[], object] | None = None
    turns: "Turns | None" = None
    show_turns: Callable[[], object] = lambda: None

    @property
    def units(self) -> Units:
        """What lengths are read and typed in here."""
        return self.preferences.units

    def url(self, step: str, **query: str) -> str:
        """Where another step of this cylinder is."""
        return step_url(self.build, step, **query)


class Turns(Protocol):
    """What undo and redo in the head act on, where a page shows more than the work in hand."""

    def words(self, kind: Turn) -> str | None:
        """What would be turned, None where there is nothing."""

    async def turn(self, kind: Turn) -> None:
        """Turn it."""


def step_url(build: str, step: str, **query: str) -> str:
    """The address of a step of a cylinder.

    >>> step_url("kart 98", "work-out", number="squish_gap_mm")
    '/cylinder/kart%2098/work-out?number=squish_gap_mm'
    """
    asked = "&".join(f"{quote(key)}={quote(value, safe='')}" for key, value in query.items())
    return f"/cylinder/{quote(build, safe='')}/{step}" + (f"?{asked}" if asked else "")


def begin_page(title: str) -> Preferences:
    """What every page has: its title, look and light. Returns how this device wants it."""
    request = context.client.request
    preferences = preferences_of(request.cookies if request is not None else {})
    ui.page_title(f"{title} - scribeline")
    ui.dark_mode(preferences.dark)
    _UNITS[context.client] = preferences.units
    ui.on("left", functools.partial(_left, context.client))
    ui.on_exception(_Refusals().said)
    context.client.on_delete(_forget_routes)
    return preferences


def _forget_routes() -> None:
    """FastAPI remembers some thousand functions of routes, removed ones too. Each place to drop a file has a route of
    its own, whose function holds the whole page that the place stood on."""
    for one in vars(fastapi_models).values():
        if hasattr(one, "cache_clear"):
            one.cache_clear()


class _Refusals:
    """What goes wrong on an open page with nobody there to say it, such as a button's work: said, once at a time."""

    def __init__(self) -> None:
        self._open: dict[str, ui.dialog] = {}

    def said(self, error: Exception) -> None:
        """Say it, unless the same still stands there: what is done each second fails each second."""
        if isinstance(error, ScribelineError):
            words = str(error)
        else:
            words = (
                f"A fault in scribeline ({type(error).__name__}).\nkept: everything that was saved before\n"
                "what to do: load the page again. If it happens again, please report what the window in which "
                "scribeline runs says"
            )
        before = self._open.get(words)
        if before is None or not before.value:
            self._open[words] = failure(words)


def _left(client: Client) -> None:
    """The browser went on to another page, or loads this one anew: nobody comes back to what it showed.

    Only pages that vanish without a word, as those of a phone that sleeps, are kept for when it wakes.
    """
    client.page = copy.copy(client.page)
    client.page.reconnect_timeout = 0.0


_UNITS: WeakKeyDictionary[Client, Units] = WeakKeyDictionary()


def units_here() -> Units:
    """What lengths are read in on the page that is being built or that answers now."""
    return _UNITS.get(context.client, "mm")


def in_units_here(words: str) -> str:
    """A sentence that says lengths in mm, with inches behind them for whoever reads inches."""
    return with_inches(words, units_here())


@contextmanager
def frame(title: str, *, page: StepPage | None = None, help_page: str = "") -> Iterator[None]:
    """The head of a page, then its content in the `with` block.

    title : what stands in the title block; the cylinder's name on a step page
    help_page : which page of the docs the help opens, such as "tutorial/page-measure"
    """
    link("Skip to the content", "#content").classes("skip")
    with ui.element("header").classes("head"):
        with ui.element("div").classes("head-row"):
            link("scribeline", "/").classes("head-home").props('aria-label="scribeline: all cylinders"')
            with ui.element("div").classes("head-name"):
                text(title, "h1")
                if page is not None:
                    _revision(page)
                    _heard(page)
            with ui.element("div").classes("head-tools"):
                if page is not None:
                    _undo_and_redo(page)
                    _units(page)
                link("Help", f"/help/{help_page}" if help_page else "/help").classes("tool").props("data-help")
                link("Settings", "/settings").classes("tool")
        if page is not None:
            _steps(page)
    with ui.element("div").classes("content").props('id="content" tabindex="-1"'):
        text(NOT_TO_SCALE, "p").classes("printed")
        yield
    if page is not None:
        _typed_before(page)


def _steps(page: StepPage) -> None:
    with ui.element("nav").classes("steps").props('aria-label="The six steps"'):
        for number, (step, words) in enumerate(STEPS, start=1):
            one = ui.element("a").props(f'href="{page.url(step)}"').classes("step")
            if step == page.step:
                one.props('aria-current="step"')
            with one:
                text(str(number), "span").classes("step-number").props('aria-hidden="true"')
                text(words, "span")


def _revision(page: StepPage) -> None:
    shown = text("", "p").classes("quiet")

    def show(_: Sequence[str] = ()) -> None:
        desk = page.desk.desk
        kept = f"revision {desk.revision_number}" if desk.revision_number else "no revision kept yet"
        shown.set_text(f"{kept}; every edit is saved")

    page.desk.on_change(show)
    show()


def _heard(page: StepPage) -> None:
    """Say each edit to those who do not see what it changed."""
    said = text("", "p").classes("sr-only").props("aria-live=polite data-heard")

    def show(_: Sequence[str]) -> None:
        edit = page.desk.latest
        if edit is None:
            return
        words = {"edit": "Saved", "undo": "Taken back", "redo": "Done again"}[edit.kind]
        by = "" if edit.device == page.desk.device else f" on {edit.device}"
        again = "\N{NO-BREAK SPACE}" * (edit.number % 2)  # the same words twice over would be said once
        said.set_text(f"{words}{by}: {with_inches(edit.label, page.units)}{again}")

    page.desk.on_change(show)


def _undo_and_redo(page: StepPage) -> None:
    """One pair on every page, also for Ctrl+Z (static/scribeline.js). It says what it would turn."""
    turn_desk = {"undo": page.desk.undo, "redo": page.desk.redo}

    def press(kind: Turn) -> object:
        if page.turns is not None:
            return page.turns.turn(kind)  # awaited by whoever calls
        guarded(turn_desk[kind])
        return None

    pressed = {
        kind: button(kind.capitalize(), functools.partial(press, kind), kind="tool").props(f"data-turn={kind}")
        for kind in get_args(Turn)
    }

    def words(kind: Turn) -> str | None:
        if page.turns is not None:
            return page.turns.words(kind)
        edit = page.desk.desk.undoable if kind == "undo" else page.desk.desk.redoable
        return edit.label if edit is not None else None

    def show(_: Sequence[str] = ()) -> None:
        for kind, one in pressed.items():
            said = words(kind)
            one.set_enabled(said is not None)
            label = f"{kind.capitalize()}: {'nothing' if said is None else with_inches(said, page.units)}"
            one.props["aria-label"] = one.props["title"] = label  # as it is: props() would take parts of it for its own

    page.show_turns = show
    page.desk.on_change(show)
    show()


def _units(page: StepPage) -> None:
    """Lengths in mm or in inches, from now on on this device. What was typed stays as it was typed."""

    def choose(units: Units) -> None:
        if units == page.units:
            return
        page.preferences = replace(page.preferences, units=units)
        _UNITS[page.client] = units
        kept = f"document.cookie = {json.dumps(cookie_text(page.preferences))}"
        mark()
        if page.on_units is None:
            page.client.run_javascript(f"{kept}; location.reload()")
        else:
            page.client.run_javascript(kept)
            page.on_units()

    with ui.element("div").classes("switch").props('role=group aria-label="Lengths are read and typed in"'):
        made = {
            units: button(units, functools.partial(choose, units), kind="tool").props(f"data-units={units}")
            for units in get_args(Units)
        }

    def mark() -> None:
        for units, one in made.items():
            one.props(f"aria-pressed={'true' if units == page.units else 'false'}")

    mark()


def _typed_before(page: StepPage) -> None:
    """Text that this browser kept because no server said that it was saved: say so, and where it belongs."""
    place = ui.element("div")

    def show(event: events.GenericEventArguments) -> None:
        found = [one for one in event.args if isinstance(one, dict) and {"path", "value"} <= one.keys()]
        if not found:
            return
        with place, ui.element("section").classes("part warning").props("role=alert"):
            text("Typed here while scribeline could not be reached", "h2")
            for one in found:
                with ui.element("p"):
                    text(str(one.get("label") or one["path"]), "span")
                    text(f": {one['value']}", "span").classes("number")
            text("It is not saved. Type it again where it belongs, or put it away.")
            button("Put it away", functools.partial(_put_away, page, place, [str(one["path"]) for one in found]))

    ui.on("typed_before", show)


def _put_away(page: StepPage, place: ui.element, paths: list[str]) -> None:
    page.client.run_javascript(f"{json.dumps(paths)}.forEach((path) => scribeline.saved(path))")
    place.clear()


def guarded(do: Callable[[], object]) -> None:
    """Do something a person asked for; where it is refused, say so on the page and go on."""
    try:
        do()
    except ScribelineError as refusal:
        failure(refusal)


def said(refusal: ScribelineError | str) -> list[str]:
    """An error in the words of the pages and the units of this one, line by line."""
    return [line.strip() for line in in_units_here(on_page(str(refusal))).splitlines()]


def failure(refusal: ScribelineError | str) -> ui.dialog:
    """Say what happened, what was kept and what to do, until the builder puts it away. Returns the dialog."""
    with (
        ui.dialog(value=True).props('persistent aria-label="That did not work"') as dialog,
        ui.element("div").classes("panel").props("role=alert"),
    ):
        text("That did not work", "h2")
        for line in said(refusal):
            text(line)
        button("Understood", dialog.close, kind="chief")
    return dialog


def broken(error: Exception) -> None:
    """Say that a fault of ours broke this part of the page. The head stays: the other steps and undo are a way on."""
    logging.getLogger("scribeline").error("a page broke", exc_info=error)
    with ui.element("section").classes("part warning").props("role=alert"):
        text("This page broke", "h2")
        text(f"A fault in scribeline broke this page ({type(error).__name__}).")
        text("Kept: everything that you entered before.")
        text(
            "What to do: load the page again. If that does not help, undo the last edit, go on with another step, and "
            "please report what the window in which scribeline runs says."
        )


def show_conflict(conflict: EditConflict, insist: Callable[[], None]) -> None:
    """Another device changed the same place: show both values, let the builder choose."""
    with (
        ui.dialog(value=True).props('persistent aria-label="Changed on two devices"') as dialog,
        ui.element("div").classes("panel").props("role=alert"),
    ):
        text("Changed on two devices", "h2")
        if conflict.label and conflict.wanted:  # the words beside undo; the error itself speaks of places and values
            with ui.element("p"):
                text(f"{conflict.device}: ", "span")
                text(conflict.label, "strong")
            with ui.element("p"):
                text("here: ", "span")
                text(conflict.wanted, "strong")
            text("Kept: theirs. What to do: choose one of the two.")
        else:
            for line in said(conflict):
                text(line)

        def take_mine() -> None:
            dialog.close()
            guarded(insist)

        with ui.element("div").classes("row"):
            button("Keep theirs", dialog.close, kind="chief")
            button("Use mine", take_mine)


def cautions(*kinds: str, folded: bool = False) -> None:
    """The cautions that belong beside this work. folded : they have been read, and their head is enough to find them"""
    with ui.element("details").classes("cautions").props("" if folded else "open"):
        text("Before you go on: cautions", "summary")
        with ui.element("ul"):
            for sentence in cautions_text(*kinds):
                text(in_units_here(sentence), "li")


@contextmanager
def section(title: str, *, note: str = "") -> Iterator[None]:
    """A part of a page under a ruled heading."""
    with ui.element("section").classes("part"):
        text(title, "h2")
        if note:
            text(note, "p").classes("quiet")
        yield


def text(words: str, tag: str = "p") -> "Words":
    """Plain words in an element; nothing in them is taken for markup."""
    return Words(words, tag)


def text_of(words: str, of: str, tag: str = "p") -> ui.html:
    """Words that stand on a page more than once, with what they are of for those who do not see what is around them."""
    return ui.html(f'{escape(words)}<span class="sr-only">: {escape(of)}</span>', sanitize=False, tag=tag)


class Words(ui.html):
    """An element that holds words and escapes them."""

    def __init__(self, words: str, tag: str) -> None:
        super().__init__(escape(words), sanitize=False, tag=tag)

    def set_text(self, words: str) -> None:
        """Other words."""
        self.set_content(escape(words))


def link(words: str, target: str) -> ui.element:
    """A link inside scribeline."""
    with ui.element("a") as made:
        made.props["href"] = target
        text(words, "span")
    return made


def button(words: str, do: Callable[[], object], *, kind: str = "plain") -> ui.button:
    """A button of words. kind : "chief" for what the page is for, "plain", "tool" for small ones in the head.

    do : runs in the page, not in the button's place: it may take that place away, and still have something to say
    """
    client = context.client

    async def finished(doing: Coroutine[object, object, object]) -> None:
        with client:
            await doing

    def pressed() -> object:
        with client:
            doing = do()
        return finished(doing) if inspect.iscoroutine(doing) else doing

    return (
        ui.button(words, on_click=pressed, color=None)
        .props("no-caps unelevated square no-wrap")
        .classes(f"button button-{kind}")
    )


def say(words: str) -> None:
    """Tell in passing that something was done; also to those who do not see the page."""
    # Without a text colour of its own the framework takes white, which no rule of look.css can take back.
    ui.notify(words, position="bottom", classes="said", textColor="said", timeout=4000)
