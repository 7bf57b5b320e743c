"""axe-core in the page: what keeps somebody out who cannot see it, or has no mouse."""

from collections.abc import Sequence

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

# Half faded in, nothing has its contrast. What moves for as long as there is work, as a bar does, is not waited for.
STILL = "() => document.getAnimations().every((one) => one.effect.getComputedTiming().endTime === Infinity)"


def barriers(page: Page, only: Sequence[str] = (), within: str | None = None) -> list[str]:
    """Everything that axe-core finds, each with the elements it is about.

    only : these of its rules, else all; within : a part of the page that lies over all else, such as a dialog
    """
    page.wait_for_function(STILL)
    options = {"runOnly": list(only)} if only else None
    return [
        f"{one['id']} ({one['impact']}): {one['help']}: {node['html'][:200]}"
        for one in Axe().run(page, context=within, options=options).response["violations"]
        for node in one["nodes"]
    ]
