"""axe-core in the page: what keeps somebody out who cannot see it, or has no mouse."""

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

BAD = ("serious", "critical")


def findings(page: Page) -> list[str]:
    """The serious and critical findings, each with the first element it is about."""
    found = Axe().run(page).response["violations"]
    return [
        f"{one['id']} ({one['impact']}): {one['help']}: {one['nodes'][0]['html'][:200]}; {len(one['nodes'])} places"
        for one in found
        if one["impact"] in BAD
    ]
