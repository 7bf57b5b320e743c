"""What a step shows that cannot go on before the record is whole: what it lacks, each with the way to its field."""

from collections.abc import Sequence

from nicegui import ui

from scribeline.tasks.what_lacks import Lack, what_lacks
from scribeline.web.shell import StepPage, link, section, text

_MOST = 12


def lacks(page: StepPage) -> tuple[Lack, ...]:
    """What the record in hand lacks; nothing where it can be read."""
    found = page.desk.get("record", {})
    return what_lacks(found if isinstance(found, dict) else {}, page.units)


def list_lacks(page: StepPage, found: Sequence[Lack]) -> None:
    """The list itself."""
    with ui.element("ul").classes("lacks"):
        for one in found[:_MOST]:
            with ui.element("li"):
                link(one.text, page.url("measure", **one.measure))
        if len(found) > _MOST:
            text(f"and {len(found) - _MOST} more", "li")
    link("Go on measuring", page.url("measure")).classes("go")


def first_the_record(page: StepPage, why: str) -> bool:
    """Where the record is not whole, say so in place of the rest of the page, until it is. Returns whether it did.

    why : what needs it, as a sentence
    """
    found = lacks(page)
    if not found:
        return False
    with section("First the record"):
        text(f"{why} Still missing, or not possible:")
        place = ui.element("div").classes("warning certain")

    def show(paths: Sequence[str] = ("record",)) -> None:
        if not any(path.split(".")[0] == "record" for path in paths):
            return
        now = lacks(page)
        if not now:
            page.client.run_javascript("location.reload()")
            return
        place.clear()
        with place:
            list_lacks(page, now)

    page.desk.on_change(show)
    show()
    return True
