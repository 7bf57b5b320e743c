"""Somebody with a keyboard and no mouse: tabs through the page and knows only what has the focus, as a screen reader
tells it. Nothing is looked for in the page but by going there."""

import re
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Page

SHOWN = """() => {
  const one = document.activeElement, style = getComputedStyle(one), field = one.closest(".q-field");
  const ringed = (parseFloat(style.outlineWidth) > 0 && style.outlineStyle !== "none") || style.boxShadow !== "none";
  const { top, bottom } = one.getBoundingClientRect();
  const marked = ringed || field?.classList.contains("q-field--focused");
  return [one === document.body || (marked && bottom > 0 && top < innerHeight), one.tagName + " " + one.textContent];
}"""
"""Whether what has the focus shows it, and lies on the screen; and what it is."""

NOWHERE = "[document.body, document.documentElement, null].includes(document.activeElement)"
LISTENS = "window.did_handshake && !document.getElementById('app').inert"
PAUSE_MS = 30  # nobody is quicker from key to key
MOST_STOPS = 150  # judgement: who must press the key more often than that to get somewhere does not get there


@dataclass(frozen=True)
class Stop:
    """What has the focus, as the browser tells it to a screen reader."""

    role: str
    name: str
    value: str = ""
    described: str = ""
    expanded: bool | None = None
    pressed: str | None = None


class Keyboard:
    """The keys, and what has the focus. path : what was come to, for whoever reads a failure"""

    def __init__(self, page: Page) -> None:
        self.page = page
        self._session = page.context.new_cdp_session(page)
        self.path: list[str] = []

    def here(self) -> Stop:
        """What has the focus now."""
        for _ in range(5):
            told = self._session.send("Runtime.evaluate", {"expression": "document.activeElement"})["result"]
            try:
                nodes = self._session.send(
                    "Accessibility.getPartialAXTree", {"objectId": told["objectId"], "fetchRelatives": False}
                )["nodes"]
            except Exception:
                continue
            return _stop(nodes[0])
        raise AssertionError("what has the focus never stands still")

    def press(self, *keys: str) -> None:
        """Press keys one after the other."""
        for key in keys:
            self.page.keyboard.press(key)
            self.page.wait_for_timeout(PAUSE_MS)

    def type(self, text: str) -> None:
        """Type over what stands in a field."""
        self.page.keyboard.press("ControlOrMeta+a")
        self.page.keyboard.type(text)

    def use(self, role: str, name: str | re.Pattern[str], *, back: bool = False) -> None:
        """Go to it, and press Enter."""
        self.go_to(role, name, back=back)
        self.press("Enter")

    def go_to(self, role: str, name: str | re.Pattern[str], *, back: bool = False, most: int = MOST_STOPS) -> Stop:
        """Tab on until this has the focus. Every stop on the way shows that it has it, and has a name."""
        self.is_somewhere()
        came: list[str] = []
        for _ in range(most):
            self.page.keyboard.press("Shift+Tab" if back else "Tab")
            self.page.wait_for_timeout(PAUSE_MS)
            stop = self.here()
            came.append(f"{stop.role} {stop.name!r}")
            for _ in range(100):  # what stands before it may still be coming
                shown, what = self.page.evaluate(SHOWN)
                if shown:
                    break
                self.page.wait_for_timeout(50)
            assert shown, f"it does not show that it has the focus: {what[:200]} ({came[-1]})"
            # Behind the last stop it is the browser's own turn; a dialog has the focus itself until a key is pressed.
            if not self.page.evaluate(f"{NOWHERE} || document.activeElement.tabIndex < 0"):
                assert stop.name, f"a stop without a name: {stop} {what[:200]}"
            if stop.role == role and _is(stop.name, name):
                self.path.append(came[-1])
                return stop
        raise AssertionError(f"{most} stops and no {role} {name!r} among them:\n" + "\n".join(came))

    def arrive(self) -> None:
        """Another page has come up and listens."""
        self.page.wait_for_function(LISTENS)

    def wait_for(self, role: str, name: str | re.Pattern[str], within_ms: int = 60_000) -> Stop:
        """Until the page itself has put the focus there."""
        for _ in range(within_ms // 50):
            stop = self.here()
            if stop.role == role and _is(stop.name, name):
                return stop
            self.page.wait_for_timeout(50)
        raise AssertionError(f"the focus did not come to {role} {name!r}, it is at {self.here()}")

    def hears(self, words: str, within_ms: int = 60_000) -> None:
        """Until what has the focus is described by this."""
        for _ in range(within_ms // 50):
            if words in self.here().described:
                return
            self.page.wait_for_timeout(50)
        raise AssertionError(f"{self.here()} says nothing of {words!r}")

    def stays_within(self, role: str, most: int = 12) -> None:
        """Tab goes round inside of this and nowhere else."""
        inside = "(role) => !!document.activeElement.closest(`[role=${role}], ${role}`)"
        self.page.wait_for_function(inside, arg=role)
        for key in ["Tab"] * most + ["Shift+Tab"] * most:
            self.page.keyboard.press(key)
            assert self.page.evaluate(inside, role), f"{key} left the {role} for {self.here()}"

    def is_somewhere(self) -> None:
        """Nothing that was pressed has taken the focus away to nowhere; a page that has just come up has none yet."""
        found = "typeof scribelineFocus === 'undefined' || !scribelineFocus.isLost()"
        self.page.wait_for_function(found, timeout=30_000)
        lost = self.page.evaluate(f"{NOWHERE} && !!document.documentElement.dataset.wasFocused")
        assert not lost, f"the focus was lost; come to last: {self.path[-5:]}"


def _is(found: str, wanted: str | re.Pattern[str]) -> bool:
    return found == wanted if isinstance(wanted, str) else wanted.search(found) is not None


def _stop(node: dict[str, Any]) -> Stop:
    more = {one["name"]: one["value"].get("value") for one in node.get("properties", ())}
    return Stop(
        str(node.get("role", {}).get("value", "")),
        " ".join(str(node.get("name", {}).get("value", "")).split()),
        str(node.get("value", {}).get("value", "")),
        " ".join(str(node.get("description", {}).get("value", "")).split()),
        more.get("expanded"),
        more.get("pressed"),
    )
