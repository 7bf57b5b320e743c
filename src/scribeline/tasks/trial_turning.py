"""What turns with a vehicle, as typed for a trial: inertias where somebody knows them, else a share of the mass."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from scribeline.errors import TrialError
from scribeline.notebook import Entry
from scribeline.units import read_measured

MOST_SHARE = 0.5
"""More than half of the mass again is no vehicle (judgement)."""
# The largest that is accepted [kg m2], judgement: a motorcycle's wheels have 1, a kart engine's crank 0.002.
_MOST = {"wheels": 20.0, "crank": 0.2, "clutch": 0.2}
_TYPED = re.compile(r"\s*(?P<what>[a-z]+)\s+(?P<value>.+?)\s*", re.IGNORECASE)
_APART = re.compile(r"[,;]\s+|;")


@dataclass(frozen=True)
class Turning:
    """Each as (value, +/-), or None where it was not said.

    wheels_kg_m2 : all that turns with the wheels; crank_kg_m2 : all that turns with the crank; clutch_kg_m2 : all that
        turns behind the primary drive, at crank speed over its ratio
    share : of the mass, in place of wheels_kg_m2
    """

    wheels_kg_m2: tuple[float, float] | None = None
    crank_kg_m2: tuple[float, float] | None = None
    clutch_kg_m2: tuple[float, float] | None = None
    share: tuple[float, float] | None = None


def turning_of(text: str) -> dict[str, Any]:
    """What the journal keeps of "wheels 0.32 kg m2, crank 21 kg cm2 ± 3 kg cm2, clutch 4 kg cm2" or "share 4 %".

    Each may be left out. Raises TrialError for what is not clear, TypedValueError for a number that is not.

    >>> turning_of("crank 21 kg cm2 ± 3 kg cm2, share 4 %")
    {'crank': [0.0021, 0.0003], 'share': [0.04, 0.0]}
    """
    found: dict[str, Any] = {}
    for part in _APART.split(text.strip()):
        typed = _TYPED.fullmatch(part)
        what = typed["what"].lower() if typed else ""
        if typed is None or what not in (*_MOST, "share") or what in found:
            raise _unclear(text)
        measured = read_measured(typed["value"], "share" if what == "share" else "kg m2")
        most = _MOST.get(what, MOST_SHARE)
        if not 0.0 < measured.value <= most:
            unit = "" if what == "share" else " kg m2"
            raise TrialError(
                f"{what} {measured.typed}\n    accepted: more than 0, up to {most:g}{unit}\n"
                "    what to do: look at the unit: 1 kg m2 is 10000 kg cm2"
            )
        found[what] = [round(measured.value, 12), round(measured.plus_minus or 0.0, 12)]
    if {"share", "wheels"} <= set(found):
        raise _unclear(text)
    return found


def _unclear(text: str) -> TrialError:
    return TrialError(
        f"what turns typed as {text!r}\n    accepted: wheels, crank and clutch, each with its moment of inertia; or a "
        "share of the mass in place of the wheels\n    what to do: write it as wheels 0.32 kg m2, crank 21 kg cm2, or "
        "as share 4 %"
    )


def turning_kept(kept: Mapping[str, Any] | None) -> Turning | None:
    """What the journal keeps."""
    if not kept:
        return None
    found = {what: (float(value), float(spread)) for what, (value, spread) in kept.items()}
    return Turning(found.get("wheels"), found.get("crank"), found.get("clutch"), found.get("share"))


def turning_words(entries: Sequence[Entry]) -> str:
    """What turns as it could have been typed; "" where nobody said it."""
    told = (one.data["turning"] for one in reversed(entries) if one.kind == "settings" and "turning" in one.data)
    said = []
    for what, (value, spread) in (next(told, None) or {}).items():
        scale, unit = (100.0, " %") if what == "share" else (1.0, " kg m2")
        scale, unit = (1e4, " kg cm2") if what in ("crank", "clutch") else (scale, unit)
        both = f"{scale * value:.6g}{unit}" + (f" ± {scale * spread:.3g}{unit}" if spread else "")
        said.append(f"{what} {both}")
    return ", ".join(said)
