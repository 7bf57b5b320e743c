"""The notebook: every cylinder with its own small drawing, a new one, and the notebook as a file."""

from functools import partial
from html import escape
from urllib.parse import quote

from nicegui import run, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.cylinders import Begun, Cylinder, begin_demonstration, begin_from_file, cylinders, on_the_clock
from scribeline.tasks.desk import begin_build
from scribeline.tasks.notebook import import_notebook
from scribeline.web.dropping import drop_place
from scribeline.web.preferences import Preferences
from scribeline.web.shell import begin_page, button, failure, frame, link, say, section, step_url, text
from scribeline.web.state import State
from scribeline.web.text_input import TextInput
from scribeline.web.uploads import Upload

SEARCH_FROM = 6  # with fewer, a glance finds it


def build(state: State) -> None:
    """Build the page."""
    preferences = begin_page("Cylinders")
    ui.add_head_html('<link rel="stylesheet" href="/static/home.css">')
    ui.add_head_html('<script type="module" src="/static/home.js"></script>')
    ui.add_head_html('<script type="module" src="/static/drop.js"></script>')
    found = cylinders(where=state.notebook)
    with frame("Cylinders", help_page="tutorial/page-home"):
        if found:
            _list(found)
        else:
            text(
                "This notebook is empty. Begin with the cylinder on your bench, or look around with the demonstration "
                "engine first: nobody ever measured it, so nothing can go wrong."
            ).classes("lead")
        _another(state, preferences, empty=not found)
        _notebook_as_a_file(state, empty=not found)


def _list(found: list[Cylinder]) -> None:
    with section("In this notebook"):
        if len(found) >= SEARCH_FROM:
            _search(len(found))
        items = "".join(_item(one) for one in found)
        ui.html(f'<ul class="cylinders" data-cylinders>{items}</ul>', sanitize=False)


def _search(count: int) -> None:
    """Narrowed down in the browser: hundreds of cylinders are found as fast as one types."""
    with ui.element("div").classes("search"):
        with ui.element("label").props('for="search-cylinders"'):
            text("Find a cylinder", "span")
        ui.element("input").props('id="search-cylinders" type="search" data-search autocomplete="off"')
        text(f"{count} cylinders", "p").classes("quiet").props('role="status" data-found')


def _item(one: Cylinder) -> str:
    """One cylinder. Its drawing is fetched when it comes into view."""
    name = escape(one.name, quote=True)
    step = "measure" if one.picture == "work" else "work-out"
    picture = f"/small/{quote(one.name, safe='')}/{one.picture}"
    note = f'<span class="cylinder-note">{escape(one.note)}</span>' if one.note else ""
    files = f"{one.files} photo or file" if one.files == 1 else f"{one.files} photos and files"
    words = escape(f"{one.name} {one.note} {one.stands}".casefold(), quote=True)
    return (
        f'<li class="cylinder" data-words="{words}">'
        f'<a class="cylinder-open" href="{escape(step_url(one.name, step))}" data-name="{name}">'
        f'<span class="cylinder-drawing" data-small="{escape(picture)}" aria-hidden="true"></span>'
        f'<span class="cylinder-name">{name}</span>'
        f'<span class="cylinder-stands">{escape(one.stands)}, {on_the_clock(one.touched_at)}</span>{note}</a>'
        f'<a class="cylinder-files" href="/files/{quote(one.name, safe="")}">'
        f'{files if one.files else "Add photos"}<span class="sr-only"> of {name}</span></a></li>'
    )


def _another(state: State, preferences: Preferences, *, empty: bool) -> None:
    with section("Begin" if empty else "Another cylinder"), ui.element("div").classes("ways"):
        with ui.element("div").classes("way"):
            text("On your bench", "h3")
            name = (
                TextInput("Name of the cylinder", draft="new cylinder")
                .props('outlined maxlength=80 autocomplete="off"')
                .classes("wide")
            )
            begin = partial(_begin, state, preferences, name)
            name.on("keydown.enter", begin)
            button("Begin measuring", begin, kind="chief")
        with ui.element("div").classes("way"):
            text("From a record", "h3")
            text("A TOML file, from another notebook or written by hand. It becomes a cylinder of its own.")
            drop_place(state, "Choose a record, or drop it here", ["record"], partial(_from_file, state, preferences))
        with ui.element("div").classes("way"):
            text("To look around", "h3")
            text("An invented kart engine with a hundred numbers. Cut into it as you like.")
            button("Take the demonstration engine", partial(_demonstrate, state, preferences))


def _notebook_as_a_file(state: State, *, empty: bool) -> None:
    with section("The whole notebook"):
        if empty:
            text("A notebook that was saved to a file comes back here, with its whole history.")
            drop_place(state, "Choose a saved notebook, or drop it here", ["notebook"], partial(_bring_back, state))
            return
        text(
            "Every record with its history, every trial, every file, in one zip. Keep it somewhere else than this "
            "computer. It is brought back into an empty notebook, on this page."
        )
        link("Save the notebook to a file", "/notebook.zip").classes("button-link").props("download")


def _begin(state: State, preferences: Preferences, name: TextInput) -> None:
    wished = str(name.value or "").strip()
    if not wished:
        name.props('error error-message="Give it a name that you will know it by, such as: left barrel, 98 cc"')
        return
    try:
        begun = begin_build(wished, device=preferences.device or "this computer", where=state.notebook)
    except ScribelineError as refusal:
        failure(refusal)
        return
    name.set_value("")
    ui.navigate.to(step_url(begun.build, "measure"))


async def _from_file(state: State, preferences: Preferences, upload: Upload) -> None:
    _open(
        await run.io_bound(
            begin_from_file, upload.path, upload.name, author=preferences.device or None, where=state.notebook
        )
    )


async def _demonstrate(state: State, preferences: Preferences) -> None:
    try:
        begun = await run.io_bound(begin_demonstration, author=preferences.device or None, where=state.notebook)
    except ScribelineError as refusal:
        failure(refusal)
        return
    _open(begun, "work-out")


async def _bring_back(state: State, upload: Upload) -> None:
    moved = await run.io_bound(import_notebook, upload.path, where=state.notebook)
    if moved is not None:  # the server is ending
        say(f"{moved.builds} cylinders and {moved.trials} trials are back")
    ui.navigate.reload()


def _open(begun: Begun | None, step: str = "measure") -> None:
    if begun is not None:
        ui.navigate.to(step_url(begun.build, step))
