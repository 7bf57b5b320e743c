"""What was decided about the pulls of a recording, laid over the pulls that are found when it is read anew.

Both readings are of the same bytes, so seconds are the same seconds: a pull is there still where one was found that has
most of its time in common with it. It keeps its number then, so that it is called as before.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from scribeline.trials.pulls import Pull

IN_COMMON = 0.5
"""Of the shorter of two pulls, so that they are the same one (judgement)."""


@dataclass(frozen=True)
class CarriedOver:
    """pulls : of the new reading, decisions laid over; gone : those of the earlier one that are not there any more."""

    pulls: tuple[Pull, ...]
    gone: tuple[Pull, ...]


def carried_over(before: Sequence[Pull], found: Sequence[Pull]) -> CarriedOver:
    """Lay the decisions of an earlier reading over what a new one has found.

    before : as corrected; found : as the rule has found them. Ends that were moved by hand, gear, direction, what was
    left out and the reasons stay; one that was added by hand stays also where nothing was found.

    >>> moved = Pull(2, 10.5, 15.0, 10.0, 15.0, reasons=("ends set by eye",))
    >>> [(one.number, one.start_s, one.end_s) for one in carried_over([moved], [Pull(1, 9.8, 15.2, 9.8, 15.2)]).pulls]
    [(2, 10.5, 15.0)]
    """
    shared = sorted(
        ((_in_common(old, new), i, j) for i, old in enumerate(before) for j, new in enumerate(found)), reverse=True
    )
    earlier: dict[int, Pull] = {}
    for share, i, j in shared:
        if share > IN_COMMON and j not in earlier and before[i] not in earlier.values():
            earlier[j] = before[i]
    number = max((one.number for one in before), default=0)
    pulls = []
    for j, new in enumerate(found):
        if j in earlier:
            pulls.append(_decided(earlier[j], new))
        else:
            number += 1
            pulls.append(replace(new, number=number))
    left = [one for one in before if one not in earlier.values()]
    by_hand = [one for one in left if one.found_start_s is None]
    return CarriedOver((*pulls, *by_hand), tuple(one for one in left if one not in by_hand))


def _in_common(old: Pull, new: Pull) -> float:
    """Time of both over that of the shorter: of where the rule had found it, of one added by hand where it is."""
    start = old.start_s if old.found_start_s is None else old.found_start_s
    end = old.end_s if old.found_end_s is None else old.found_end_s
    both = min(end, new.end_s) - max(start, new.start_s)
    return max(both, 0.0) / min(end - start, new.duration_s)


def _decided(old: Pull, new: Pull) -> Pull:
    by_hand = (old.start_s, old.end_s) != (old.found_start_s, old.found_end_s)
    kept = replace(old, found_start_s=new.start_s, found_end_s=new.end_s)
    return kept if by_hand else replace(kept, start_s=new.start_s, end_s=new.end_s)
