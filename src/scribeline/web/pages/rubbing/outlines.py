"""The outlines over the straightened rubbing: moved by finger, mouse or arrow keys, and taken into the record."""

import json
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from html import escape
from typing import Any

from nicegui import events, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.length_steps import for_browser
from scribeline.tasks.rubbing_accept import ROLES, Offer, guess, offers, strangers
from scribeline.tasks.rubbing_review import OpeningShown, Review, kept_shape, loosened, shape_from
from scribeline.tasks.rubbing_work import COARSE_MM, FINE_MM, key_of, names_now, openings_now, over_now
from scribeline.web.shell import StepPage, button, failure, in_units_here, said, say, text
from scribeline.web.text_input import TextInput


class Outlines:
    """The picture with its outlines, and below it each port as it can be taken."""

    def __init__(self, page: StepPage) -> None:
        self.page = page
        self.seen: Review | None = None
        self.sent: dict[int, Mapping[str, Any]] = {}
        self.cards: dict[str, tuple[object, ui.element]] = {}
        self.place = ui.element("div")
        ui.on("outline_moved", self.moved)

    def show(self, seen: Review | None) -> None:
        """Show a photograph that was measured; nothing for none, or for one that was refused."""
        self.seen = seen if seen is not None and seen.openings else None
        self.place.clear()
        if self.seen is None:
            with self.place:
                text("Outlines stand here as soon as a photograph was measured.", "p").classes("quiet")
            return
        openings = self.openings()
        self.sent = {one.number: _sent(one) for one in openings}
        with self.place:
            lengths = for_browser(self.page.units, FINE_MM, COARSE_MM)
            ui.html(_svg(self.seen, openings, lengths), sanitize=False, tag="div").classes("over-rubbing")
            text(
                "Each line must run along the edge of the metal. Choose an opening, drag a handle, or move it with the "
                f"arrow keys: {lengths['fine']:g} {lengths['unit']}, with Shift {lengths['coarse']:g} "
                f"{lengths['unit']}. Escape puts it back.",
                "p",
            ).classes("quiet")
            self.ports = ui.element("div").classes("ports")
        self.cards = {}
        self.draw_ports()

    def openings(self) -> tuple[OpeningShown, ...]:
        """The openings with everything that was moved by hand."""
        return openings_now(self.seen, self.page.desk.get("rubbing", {})) if self.seen is not None else ()

    def refresh(self) -> None:
        """Show what changed: shapes go to the browser, numbers are written anew."""
        if self.seen is None:
            return
        changed = {one.number: _sent(one) for one in self.openings() if _sent(one) != self.sent.get(one.number)}
        self.sent |= changed
        if changed:
            self.page.client.run_javascript(f"window.rubbing?.show({json.dumps(list(changed.values()))})")
        self.draw_ports()

    def moved(self, event: events.GenericEventArguments) -> None:
        """An outline was let go: keep where it is now."""
        told = event.args if isinstance(event.args, dict) else {}
        one = next((one for one in self.openings() if one.number == told.get("number")), None)
        if one is None or self.seen is None:
            return
        try:
            shape = shape_from(told)
        except ScribelineError as refusal:
            self.sent.pop(one.number, None)
            self.refresh()
            failure(refusal)
            return
        self.sent[one.number] = {**_sent(one), "shape": kept_shape(shape)}
        what = one.port or f"opening {one.number}"
        self.page.desk.edit(f"rubbing.moved.{key_of(one.number)}", kept_shape(shape), f"outline of {what} moved")

    # --- ports

    def draw_ports(self) -> None:
        """Each port beside what the record has, and what wants a name; only cards that changed are drawn anew."""
        cards = self.cards_now()
        if list(cards) != list(self.cards):
            self.cards = {}
            self.ports.clear()
        for name, (content, draw) in cards.items():
            old = self.cards.get(name)
            if old is not None and old[0] == content:
                continue
            with self.ports:
                place = old[1] if old is not None else ui.element("article").classes("port")
            place.clear()
            with place:
                draw()
            self.cards[name] = (content, place)

    def cards_now(self) -> dict[str, tuple[object, Callable[[], None]]]:
        """Every card by its name: what it shows, and how it is drawn."""
        rubbing, record = self.page.desk.get("rubbing", {}), self.page.desk.get("record", {})
        openings = self.openings()
        try:
            made = offers(record, openings, names_now(rubbing), over_now(rubbing, openings), self.page.units)
            unknown = strangers(record, openings)
        except ScribelineError as refusal:
            return {"refusal": (str(refusal), partial(_refused, str(refusal)))}
        cards: dict[str, tuple[object, Callable[[], None]]] = {}
        for offer in made:
            taken = self.page.desk.get(f"record.ports.{offer.place}") == dict(offer.document)
            mine = [one for one in openings if one.number in offer.openings]
            over = bool(self.page.desk.get(f"rubbing.over.{key_of(offer.openings[0])}"))
            tools = [(one.by_hand, one.shape.kind) for one in mine]
            cards[offer.port] = ((offer, taken, over, tools), partial(self.draw_offer, offer, mine, taken))
        named = set(names_now(rubbing))
        known = [*(str(port.get("name")) for port in record.get("ports", [])), *cards]
        for one in unknown:
            if one.number not in named:
                cards[key_of(one.number)] = ((one.number, known), partial(self.draw_stranger, one, known))
        return cards

    def draw_offer(self, offer: Offer, openings: Sequence[OpeningShown], taken: bool) -> None:
        first = offer.openings[0]
        text(f"{offer.port}: opening {', '.join(map(str, offer.openings))}", "h3")
        for words in (*offer.doubts, offer.lacking):
            if words:
                text(in_units_here(words), "p").classes("warning")
        _changes(offer)
        text(f"Area along the wall: {offer.area}.", "p").classes("quiet")
        if any(change.stays for change in offer.changes) or self.page.desk.get(f"rubbing.over.{key_of(first)}"):
            self.draw_over(first, offer.port)
        with ui.element("div").classes("row"):
            words = "In the record" if taken else f"Take {offer.port} into the record"
            take = button(words, partial(self.take, offer), kind="plain" if taken else "chief")
            take.set_enabled(not taken)
            for one in openings:
                self.draw_tools(one, len(openings) > 1)

    def draw_tools(self, one: OpeningShown, several: bool) -> None:
        which = f" {one.number}" if several else ""
        if one.by_hand:
            button(f"Back to what was found{which}", partial(self.put_back, one))
        if one.shape.kind != "points":
            button(f"Single points{which}", partial(self.loosen, one))

    def draw_over(self, first: int, port: str) -> None:
        path = f"rubbing.over.{key_of(first)}"
        box = ui.checkbox("Write over what another instrument gave", value=bool(self.page.desk.get(path)))

        def choose() -> None:
            if box.value != bool(self.page.desk.get(path)):
                label = f"{port}: {'write over' if box.value else 'keep'} what another instrument gave"
                self.page.desk.edit(path, True if box.value else None, label)

        box.classes("big-box").on_value_change(choose)

    def draw_stranger(self, one: OpeningShown, known: Sequence[str]) -> None:
        """An opening that is no port of the record: what is it?"""
        name, role = guess(one, known)
        text(f"Opening {one.number}, at {one.clock_deg:.0f}°: no port of the record", "h3")
        with ui.element("div").classes("row"):
            named = TextInput("Name", value=name).props("outlined square stack-label").classes("field")
            chosen = ui.select(list(ROLES), label="What it does", value=role).props("outlined square").classes("field")
            button("Name it", lambda: self.name(one, named.value, chosen.value))

    def name(self, one: OpeningShown, name: str, role: str) -> None:
        """Give an opening its name; it can then be taken like the others."""
        try:
            offers(self.page.desk.get("record", {}), [one], {one.number: (name or "", role)})
        except ScribelineError as refusal:
            failure(refusal)
            return
        entry = {"name": name.strip(), "role": role}
        self.page.desk.edit(f"rubbing.names.{key_of(one.number)}", entry, f"opening {one.number} is {name.strip()}")

    def take(self, offer: Offer) -> None:
        """One edit of the record: the port as it is now."""
        label = f"{offer.port} from the rubbing"
        if self.page.desk.edit(f"record.ports.{offer.place}", dict(offer.document), label):
            say(f"{offer.port} is in the record now.")

    def put_back(self, one: OpeningShown) -> None:
        """Undo everything that was moved by hand on one opening."""
        what = one.port or f"opening {one.number}"
        self.page.desk.edit(f"rubbing.moved.{key_of(one.number)}", None, f"outline of {what} as it was found")

    def loosen(self, one: OpeningShown) -> None:
        """Offer its points one by one."""
        what = one.port or f"opening {one.number}"
        shape = kept_shape(loosened(one).shape)
        self.page.desk.edit(f"rubbing.moved.{key_of(one.number)}", shape, f"outline of {what} as single points")


def _refused(why: str) -> None:
    with ui.element("div").classes("warning certain"):
        text("Not as a port of this engine", "h3")
        for line in said(why)[:8]:
            text(line)


def _changes(offer: Offer) -> None:
    with ui.element("table").classes("before-after"):
        with ui.element("thead"), ui.element("tr"):
            for head in ("", "the record has", "the rubbing says", ""):
                text(head, "th").props("scope=col") if head else ui.element("td")
        with ui.element("tbody"):
            for one in offer.changes:
                with ui.element("tr"):
                    text(one.what, "th").props("scope=row")
                    text(one.recorded or "nothing yet", "td").props["data-head"] = "the record has"
                    text(one.rubbed, "td").classes("number").props["data-head"] = "the rubbing says"
                    agree = {None: "", True: "they agree", False: "they do not agree"}[one.agrees]
                    words = ", ".join(each for each in (agree, "stays as it is" if one.stays else "") if each)
                    text(words or "new", "td").classes("disagree" if one.agrees is False else "")


def _sent(one: OpeningShown) -> dict[str, Any]:
    """An opening as the browser draws it."""
    return {
        "number": one.number,
        "name": one.port or f"opening {one.number}",
        "doubt": bool(one.doubt) and not one.by_hand,
        "shape": kept_shape(one.shape),
    }


def _svg(seen: Review, openings: Sequence[OpeningShown], lengths: Mapping[str, Any]) -> str:
    """The picture. static/rubbing.js draws outlines and handles over it, from what stands in data-openings.

    lengths : how it writes and steps lengths
    """
    how = escape(json.dumps(lengths), quote=True)
    left, top, right, bottom = seen.flat_mm
    told = escape(json.dumps([_sent(one) for one in openings]), quote=True)
    words = f"The rubbing laid flat with {len(openings)} outlines over it; not to scale"
    return (
        '<div class="over-tools" role="toolbar" aria-label="What to look at"></div>'
        f'<svg class="over" data-rubbing data-openings="{told}" data-lengths="{how}" '
        f'viewBox="{left:.2f} {top:.2f} {right - left:.2f} {bottom - top:.2f}" role="group" '
        f'aria-label="{escape(words)}">'
        f'<image href="{seen.flat}" x="{left:.3f}" y="{top:.3f}" width="{right - left:.3f}" '
        f'height="{bottom - top:.3f}" preserveAspectRatio="none"/></svg>'
        '<p class="over-says" role="status"></p>'
    )
