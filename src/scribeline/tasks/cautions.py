"""The cautions, as sentences for whoever shows them."""

from scribeline.data.cautions import cautions_for


def cautions_text(*kinds: str) -> list[str]:
    """What must be said beside outputs of these kinds, such as "cut-plan" or "run-test"; see data/cautions.toml.

    >>> cautions_text("template")[1].split(".")[0]
    'Metal does not grow back'
    """
    return [caution.text for caution in cautions_for(*kinds)]
