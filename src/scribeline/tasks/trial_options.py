"""What is said about a table on the command line, judged before a file is opened."""

from collections.abc import Sequence
from typing import Literal, cast

from scribeline.errors import TrialError
from scribeline.recordings import ReadOptions


def read_options(columns: Sequence[str], decimal: str | None, speed_unit: str | None) -> ReadOptions:
    """Options for reading from what was typed; columns as HEADING=MEANING. Raises TrialError.

    >>> dict(read_options(["v=speed_m_s km/h"], ",", None).columns)
    {'v': 'speed_m_s km/h'}
    """
    chosen = {}
    for text in columns:
        heading, mark, meaning = text.partition("=")
        if not mark or not heading.strip():
            raise TrialError(
                f"a column typed as {text!r}\n    accepted: HEADING=MEANING, such as 'v=speed_m_s km/h'\n"
                "    what to do: write it so; an empty meaning leaves the column out"
            )
        chosen[heading.strip()] = meaning.strip()
    if decimal not in (None, ".", ","):
        raise TrialError(f"a decimal mark {decimal!r}\n    accepted: . or ,\n    what to do: name one")
    if speed_unit not in (None, "km/h", "m/s", "mph", "kn"):
        raise TrialError(f"a speed unit {speed_unit!r}\n    accepted: km/h, m/s, mph, kn\n    what to do: name one")
    return ReadOptions(
        columns=chosen,
        decimal=cast("Literal['.', ','] | None", decimal),
        speed_unit=cast("Literal['km/h', 'm/s', 'mph', 'kn'] | None", speed_unit),
    )
