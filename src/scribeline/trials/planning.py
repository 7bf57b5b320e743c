"""How many runs, in which order: asked before the day, answered from the scatter one expects.

Power is that of Student's test against a true difference (noncentral t, cohen-1988): the chance that runs of this
scatter show a difference of this size.
"""

import math
from collections.abc import Sequence

from scipy import special

from scribeline.errors import TrialError

ALPHA = 0.05
POWER = 0.8
"""Four times in five, the customary aim (cohen-1988)."""
MOST_RUNS = 10_000


def power(difference: float, se: float, df: float, alpha: float = ALPHA) -> float:
    """Chance of p < alpha where the true difference is this one; se in the same unit.

    >>> round(power(0.142845, 0.06 * (2 / 4) ** 0.5, 6), 3)
    0.8
    """
    if se <= 0.0:
        return 1.0 if difference else alpha
    critical = float(special.stdtrit(df, 1.0 - 0.5 * alpha))
    away = abs(difference) / se
    # Far out, where a share is 0 to any digit, the function gives nan.
    missed, other_side = (_or_0(special.nctdtr(df, away, end)) for end in (critical, -critical))
    return 1.0 - missed + other_side


def _or_0(share: float) -> float:
    return float(share) if math.isfinite(share) else 0.0


def detectable(se: float, df: float, alpha: float = ALPHA, wanted: float = POWER) -> float:
    """The smallest true difference that is shown with the wanted power, in the unit of `se`."""
    if se <= 0.0:
        return 0.0
    critical = float(special.stdtrit(df, 1.0 - 0.5 * alpha))
    high = critical + 40.0
    from scipy import optimize  # takes a moment to import, and most commands do not need it

    root = optimize.brentq(lambda away: power(away, 1.0, df, alpha) - wanted, 1e-9, high, xtol=1e-10)
    return float(root) * se


def detectable_two(runs: float, sd: float, alpha: float = ALPHA, wanted: float = POWER) -> float:
    """Smallest difference that two setups of so many runs each show, both with the scatter `sd`."""
    return detectable(sd * math.sqrt(2.0 / runs), 2.0 * runs - 2.0, alpha, wanted)


def detectable_paired(pairs: float, sd_of_differences: float, alpha: float = ALPHA, wanted: float = POWER) -> float:
    """Smallest difference that so many pairs show."""
    return detectable(sd_of_differences / math.sqrt(pairs), pairs - 1.0, alpha, wanted)


def runs_needed(difference: float, sd: float, alpha: float = ALPHA, wanted: float = POWER) -> float:
    """Runs of each setup for a difference of this size, not rounded; raises TrialError beyond 10 000.

    >>> math.ceil(runs_needed(0.5, 1.0))
    64
    """
    if difference == 0.0 or not math.isfinite(difference) or not sd >= 0.0:
        raise TrialError(
            f"a difference of {difference:g} with a scatter of {sd:g}\n    accepted: a difference that is not 0 and a "
            "scatter of 0 or more\n    what to do: say how small a gain would still be worth the work"
        )
    if detectable_two(2.0, sd, alpha, wanted) <= abs(difference):
        return 2.0
    if detectable_two(MOST_RUNS, sd, alpha, wanted) > abs(difference):
        raise TrialError(
            f"a difference of {difference:g} with a scatter of {sd:g}\n    accepted: one that fewer than {MOST_RUNS} "
            "runs can show\n    what to do: make the scatter smaller first, or look for a larger difference"
        )
    from scipy import optimize

    root = optimize.brentq(
        lambda n: detectable_two(n, sd, alpha, wanted) - abs(difference), 2.0, float(MOST_RUNS), xtol=1e-8
    )
    return float(root)


def order_of(setups: Sequence[str], runs: int) -> list[str]:
    """An order in which a straight drift through the day does the setups no favour.

    Forwards, then backwards, and again: A B B A A B B A; three setups A B C C B A. With an odd number of runs the
    last turn stays half, and a little of the drift is left.

    >>> " ".join(order_of(["A", "B"], 4))
    'A B B A A B B A'
    """
    forwards = list(setups)
    return [name for turn in range(runs) for name in (forwards if turn % 2 == 0 else forwards[::-1])]


def left_of_drift(order: Sequence[str]) -> float:
    """How much of a drift of 1 a run is taken for a difference between the first and second setup of this order.

    >>> left_of_drift(list("ABBA")), left_of_drift(list("AABB"))
    (0.0, 2.0)
    """
    names = list(dict.fromkeys(order))
    places = {name: [i for i, one in enumerate(order) if one == name] for name in names}
    return sum(places[names[1]]) / len(places[names[1]]) - sum(places[names[0]]) / len(places[names[0]])


def directions_of(order: Sequence[str]) -> list[str]:
    """Which way to drive each run: out and back in turn, as one has to anyway.

    In an order that goes forwards and backwards each setup is then driven as often up as down.

    >>> directions_of(list("ABBA"))
    ['up', 'down', 'up', 'down']
    """
    return ["up" if place % 2 == 0 else "down" for place in range(len(order))]
