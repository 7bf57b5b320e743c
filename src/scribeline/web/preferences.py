"""How one device wants the pages: its units, its light, its name. Kept by its browser, in one cookie.

No secret stands in it and nothing depends on it: a cookie that cannot be read counts as none.
"""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Literal, get_args
from urllib.parse import quote, unquote

from scribeline.units import Units

COOKIE = "scribeline-preferences"

Light = Literal["device", "light", "dark"]


@dataclass(frozen=True)
class Preferences:
    """units : lengths are shown so; what was typed stays as typed. device : the name beside this device's edits."""

    units: Units = "mm"
    light: Light = "device"
    device: str = ""
    paper: str = "A4"

    @property
    def dark(self) -> bool | None:
        """True in the dark garage, None as the device has it."""
        return {"device": None, "light": False, "dark": True}[self.light]


def preferences_of(cookies: Mapping[str, str]) -> Preferences:
    """What a browser brought.

    >>> preferences_of({COOKIE: quote('{"units": "inch", "light": "purple"}')})
    Preferences(units='inch', light='device', device='', paper='A4')
    """
    try:
        found = json.loads(unquote(cookies.get(COOKIE, "{}")))
    except ValueError:
        return Preferences()
    if not isinstance(found, dict):
        return Preferences()
    accepted = {"units": get_args(Units), "light": get_args(Light), "paper": ("A4", "Letter", "A3")}
    kept = {
        one.name: found[one.name]
        for one in fields(Preferences)
        if isinstance(found.get(one.name), str) and found[one.name] in accepted.get(one.name, (found[one.name],))
    }
    if "device" in kept:
        kept["device"] = kept["device"][:40]
    return Preferences(**kept)


def cookie_text(preferences: Preferences) -> str:
    """The cookie as a browser's `document.cookie` takes it; it lasts a year."""
    return f"{COOKIE}={quote(json.dumps(asdict(preferences)))}; path=/; max-age=31536000; samesite=strict"
