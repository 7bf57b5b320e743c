"""How often the interval of a verdict holds the truth: every kind of day, every ratio of scatters, driven with dice.

.venv/bin/python benchmarks/bench_verdict.py             # the table of docs/decisions/verdict-statistics.md
"""

import itertools
import time
from collections import defaultdict

import numpy as np

from scribeline.errors import TrialError
from scribeline.trials.contrast import contrast

DAYS = 20_000
RATIOS = (1 / 3, 1 / 2, 1.0, 2.0, 3.0)
NUMBERS = ((3, 3), (4, 4), (3, 4), (3, 5), (3, 6), (4, 5), (4, 6), (5, 5), (5, 7), (2, 2), (2, 3), (2, 4), (2, 6))
ORDERS = 8  # of each pair of numbers, drawn at random where there are more


def orders(dice: np.random.Generator, first: int, second: int) -> list[np.ndarray]:
    """Some of the ways to drive so many runs; True for the second setup."""
    ways = list(itertools.combinations(range(first + second), second))
    drawn = dice.choice(len(ways), min(ORDERS, len(ways)), replace=False)
    return [np.isin(np.arange(first + second), ways[i]) for i in drawn]


def besides(dice: np.random.Generator, runs: int) -> dict[str, np.ndarray | None]:
    """What is written down beside the setup."""
    place = np.arange(float(runs))
    somehow = np.isin(np.arange(runs), dice.choice(runs, runs // 2, replace=False)).astype(float)
    return {
        "nothing": None,
        "place in the day": place,
        "out and back in turn": place % 2,
        "directions as they come": somehow,
        "place, out and back": np.column_stack([place, place % 2]),
    }


def lone(second: np.ndarray, beside: np.ndarray | None) -> bool:
    """Whether a setup's scatter cannot be seen at all, as only one of its runs counts: the other went another way."""
    columns = [np.ones(second.size), second] + ([] if beside is None else [*np.reshape(beside, (second.size, -1)).T])
    design = np.column_stack(columns)
    left = np.eye(second.size) - design @ np.linalg.pinv(design)
    return any(np.abs(left[own]).max() < 1e-9 for own in (second, ~second))


def main() -> None:
    dice = np.random.default_rng(20261126)
    held: dict[tuple[str, str], list[float]] = defaultdict(list)
    began, designs = time.process_time(), 0
    for first, second in NUMBERS:
        few = "2 of one" if min(first, second) < 3 else "3 and more"
        for turned in (False, True) if first != second else (False,):
            for order in orders(dice, *((second, first) if turned else (first, second))):
                for name, beside in besides(dice, order.size).items():
                    if lone(order, beside):
                        continue
                    days = dice.normal(size=(DAYS, order.size))
                    with_ratio = (days * np.where(order, ratio, 1.0) for ratio in RATIOS)
                    try:
                        shares = [float(np.mean(contrast(y, order, beside).p >= 0.05)) for y in with_ratio]
                    except TrialError:  # confounded, refused
                        continue
                    held[few, name] += shares
                    designs += 1
    print("| runs of a setup | written down beside | days of a kind | covered |")
    print("|---|---|---|---|")
    for (few, name), shares in sorted(held.items(), reverse=True):
        low, high = 100 * min(shares), 100 * max(shares)
        print(f"| {few} | {name} | {len(shares)} | {low:.1f} to {high:.1f} % |")
    print(f"\n{designs} designs, {len(RATIOS)} ratios, {DAYS} days each: {time.process_time() - began:.0f} s")


if __name__ == "__main__":
    main()
