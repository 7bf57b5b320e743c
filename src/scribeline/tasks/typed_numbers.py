"""A bare number that is typed on a page: a decimal point or comma, nothing else is guessed."""

import re

from scribeline.errors import TypedValueError

_NUMBER = re.compile(r"[+\-\N{MINUS SIGN}]?\d{1,9}(?:[.,]\d{1,9})?")


def number_of(typed: str | None, what: str = "number") -> float:
    """The number; TypedValueError for everything that is none, or could be two.

    >>> number_of(" 8,25 ")
    8.25
    """
    text = (typed or "").strip()
    if not _NUMBER.fullmatch(text):
        raise TypedValueError(
            f"{what}: {text!r}\n    accepted: one number, such as 8.25\n"
            "    what to do: write the number alone, without unit or thousands mark"
        )
    return float(text.replace(",", ".").replace("\N{MINUS SIGN}", "-"))
