"""How this device wants the pages, which devices are let in, and how another one is."""

import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from typing import Any

from nicegui import context, ui

from scribeline import __version__
from scribeline.errors import ScribelineError
from scribeline.web.guard import Door, device_of
from scribeline.web.pairing import pairing_url, qr_svg, spoken
from scribeline.web.preferences import Preferences, cookie_text
from scribeline.web.sessions import Device
from scribeline.web.shell import begin_page, button, failure, frame, link, say, section, text
from scribeline.web.state import State
from scribeline.web.text_input import TextInput

UNITS = {"mm": "Millimetres", "inch": "Inches"}
LIGHTS = {"device": "As this device has it", "light": "Light: paper", "dark": "Dark: garage"}
PAPERS = {"A4": "A4", "A3": "A3", "Letter": "Letter"}
KINDS = {"computer": "on this computer", "phone": "over the network", "program": "a program, by its key"}


def build(state: State) -> None:
    """Build the page."""
    preferences = begin_page("Settings")
    ui.add_head_html('<link rel="stylesheet" href="/static/home.css">')
    request = context.client.request
    own = device_of(request.scope) if request is not None else None
    with frame("Settings", help_page="howto/use-a-phone-in-the-garage"):
        _this_device(preferences)
        if state.door is not None:
            devices = _devices(state.door, own)
            _pair(state.door, own, devices)
            _program(state.door, own, devices)
        _about(state)


class Wish:
    """How this device wants the pages, kept in its browser as soon as it is said."""

    def __init__(self, preferences: Preferences) -> None:
        self.preferences = preferences

    def keep(self, **changed: Any) -> None:
        """Keep it; the pages that are open take it when they are loaded next, this one at once."""
        self.preferences = replace(self.preferences, **changed)
        ui.run_javascript(f"document.cookie = {json.dumps(cookie_text(self.preferences))}")
        say("Kept on this device")
        if "light" in changed:
            ui.dark_mode(self.preferences.dark)


def _this_device(preferences: Preferences) -> None:
    wish = Wish(preferences)
    with section("This device"):
        text("Kept in this browser. Each phone and each browser has its own.").classes("quiet")
        _choice("Lengths are shown in", "units", UNITS, preferences.units, wish)
        _choice("Light", "light", LIGHTS, preferences.light, wish)
        _choice("Paper in the printer", "paper", PAPERS, preferences.paper, wish)
        name = TextInput("Your name", value=preferences.device)
        name.props('outlined maxlength=40 hint="Stands beside what you edit and keep"').classes("wide")
        name.on("change", lambda: wish.keep(device=str(name.value or "").strip()[:40]))


def _choice(words: str, name: str, options: Mapping[str, str], chosen: str, wish: Wish) -> None:
    with ui.element("fieldset").classes("choices"):
        text(words, "legend")
        with ui.element("div").classes("row"):
            for value, label in options.items():
                with ui.element("label").classes("choice"):
                    one = ui.element("input").props(f'type=radio name="{name}" value="{value}"')
                    if value == chosen:
                        one.props("checked")
                    one.on("change", partial(wish.keep, **{name: value}))
                    text(label, "span")


def is_chief(own: Device | None) -> bool:
    """Whether this device may let others in and shut them out: a browser on the computer itself."""
    return own is None or own.kind == "computer"


def _devices(door: Door, own: Device | None) -> Callable[[], None]:
    """The devices that are let in; returns what shows them anew."""

    @ui.refreshable
    def listed() -> None:
        found = door.sessions.devices()
        with ui.element("ul").classes("devices"):
            for device in found:
                _device(door, device, own, show)
        if not found:
            text("None yet.")

    def show() -> None:
        listed.refresh()

    with section("Let in"):
        text(
            "Each of these may see and change everything in this notebook. Shut out what is lost or sold: it takes "
            "effect at once."
        )
        listed()
    return show


def _device(door: Door, device: Device, own: Device | None, show: Callable[[], None]) -> None:
    is_own = own is not None and own.id == device.id
    with ui.element("li"):
        text(device.name, "span").classes("device-name")
        here = "this one; " if is_own else ""
        since, seen = device.paired_at[:10], device.seen_at[:16].replace("T", " ")
        text(f"{here}{KINDS[device.kind]}, since {since}, last seen {seen} UTC", "span").classes("device-about")
        if is_chief(own) or is_own:
            out = button("Shut out", partial(_ask_to_shut_out, door, device, is_own, show))
            out.props(f'aria-label="Shut out {device.name.replace(chr(34), "")}"')


def _ask_to_shut_out(door: Door, device: Device, is_own: bool, show: Callable[[], None]) -> None:
    with ui.dialog(value=True).props('aria-label="Shut out"') as dialog, ui.element("div").classes("panel"):
        text(f"Shut out {device.name}?", "h2")
        if is_own:
            text("That is this browser. It closes now, and comes back only through a new key or code.")
        text("Nothing that it entered is lost.")

        def shut_out() -> None:
            dialog.close()
            try:
                door.sessions.revoke(device.id)
            except ScribelineError as refusal:
                failure(refusal)
            show()

        with ui.element("div").classes("row"):
            button("Shut out", shut_out, kind="chief")
            button("Leave it in", dialog.close)


def _pair(door: Door, own: Device | None, show: Callable[[], None]) -> None:
    with section("Pair a phone"):
        if not is_chief(own):
            text("Codes are shown on the computer itself only.")
            return
        if not door.lan_urls():
            text(
                "Phones come in when scribeline was started with: scribeline serve --lan. Then a code is shown here."
                if not door.lan
                else "This computer is in no local network now, so no phone can find it."
            )
            link("How to use a phone in the garage", "/help/howto/use-a-phone-in-the-garage")
            return
        place = ui.element("div").classes("pairing").props("role=status")

        def begin() -> None:
            code = door.pairing.begin()
            url = door.lan_urls()[0]
            place.clear()
            with place:
                ui.html(qr_svg(pairing_url(url, code.text)), sanitize=False).classes("pairing-qr")
                with ui.element("div"):
                    text(f"Point the phone's camera here, or open {url}/pair there and type")
                    text(spoken(code.text)).classes("code")
                    left = text("", "p").classes("quiet")
            known = {device.id for device in door.sessions.devices()}
            timer = ui.timer(1.0, lambda: watch())

            def watch() -> None:
                if door.pairing.current is code:
                    left.set_text(f"Works once, for another {door.pairing.seconds_left:.0f} s")
                    return
                timer.cancel()
                new = [device for device in door.sessions.devices() if device.id not in known]
                place.clear()
                with place:
                    text(f"Paired: {new[0].name}" if new else "The code works no more. Ask for another.")
                show()

        text("In a network of your own, behind its password: what goes over it is not encrypted.").classes("quiet")
        button("Show a code", begin, kind="chief")


def _program(door: Door, own: Device | None, show: Callable[[], None]) -> None:
    if not is_chief(own):
        return
    with section("A key for a program"):
        text("Programs of your own may do all that the pages do.")
        link("How to use the interface for programs", "/help/howto/use-the-api")
        name = TextInput("What the program is called").props('outlined maxlength=40 autocomplete="off"').classes("wide")
        place = ui.element("div").props("role=status")

        def make() -> None:
            try:
                _, token = door.sessions.admit(str(name.value or "a program"), "program")
            except ScribelineError as refusal:
                failure(refusal)
                return
            place.clear()
            with place:
                text("Its key. Copy it now: it is shown once, and kept nowhere.")
                text(token, "code").classes("key")
            show()

        button("Make a key", make)


def _about(state: State) -> None:
    with section("About"):
        text(f"scribeline {__version__}. The notebook is {state.notebook.address}.")
        text("Nothing leaves this computer but what you send yourself.")
        link("All of the help", "/help")
