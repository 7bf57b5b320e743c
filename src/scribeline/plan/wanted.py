"""What a builder wants of a plan and has to do it with: kept beside its steps, so that a search can be asked again."""

from scribeline.engine import Part


class Wanted(Part):
    """A goal as typed, the tools at hand, what stays as it is, what is kept high besides; see `search_goals`.

    tools, also : None where nothing was said, which is not the same as an empty list
    """

    goal: str = ""
    tools: tuple[str, ...] | None = None
    keep: tuple[str, ...] = ()
    also: tuple[str, ...] | None = None
