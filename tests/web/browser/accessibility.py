"""axe-core in the page: what keeps somebody out who cannot see it, or has no mouse."""

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

# Half faded in, nothing has its contrast. What moves for as long as there is work, as a bar does, is not waited for.
STILL = "() => document.getAnimations().every((one) => one.effect.getComputedTiming().endTime === Infinity)"


def barriers(page: Page) -> list[str]:
    """Everything that axe-core finds, each with the elements it is about."""
    page.wait_for_function(STILL)
    return [
        f"{one['id']} ({one['impact']}): {one['help']}: {node['html'][:200]}"
        for one in Axe().run(page).response["violations"]
        for node in one["nodes"]
    ]
