"""What the ledger says, in sentences for whoever made the predictions."""

import math
from collections.abc import Sequence

from scribeline.learning.calibration import ENOUGH_TO_COUNT, ENOUGH_TO_SCALE, PROMISED, Coverage, Learned
from scribeline.learning.ledger import Beside, Prediction

SOURCES = ("clopper-pearson-1934", "student-1908", "iso-13528", "jcgm-100", "judgement")
NOT_APPLIED = (
    "It is said here and applied nowhere: the next prediction comes out as before, and whether to lean on it is yours"
)


def beside_words(one: Beside) -> str:
    """One prediction beside its measurement, in one sentence.

    >>> from scribeline.learning.ledger import Measurement, Prediction, beside
    >>> promise = Prediction("gate time", "25 to 50 km/h", "s", 8.0, 7.4, 8.6, "simulation", "kart 2")
    >>> beside_words(beside(promise, Measurement(8.2, 0.3)))
    '25 to 50 km/h: predicted 8.00 s (7.40 to 8.60), measured 8.20 ± 0.30 s: 0.20 s more, inside the band'
    """
    told, got = one.prediction, one.measurement
    digits = places(told.high - told.value, told.value - told.low, got.plus_minus)
    where = {
        "inside": "inside the band",
        "at the edge": "outside the band, but by no more than both +/- together explain",
        "outside": f"outside the band, by {abs(one.in_plus_minus):.1f} times both +/- together",
    }[one.verdict]
    unit = glyph(told.unit)
    way = "more" if one.difference > 0.0 else "less"
    difference = f"{abs(one.difference):.{digits}f}{unit} {way}" if one.difference else "no difference"
    measured = f"{got.value:.{digits}f} ± {got.plus_minus:.{digits}f}{unit}"
    return f"{told.what}: predicted {promised(told, digits)}, measured {measured}: {difference}, {where}"


def promised(told: Prediction, digits: int | None = None) -> str:
    """A prediction with its band, with as many digits as the band supports.

    >>> promised(Prediction("gate time", "25 to 50 km/h", "s", 8.0, 7.4, 8.6, "simulation", "kart 2"))
    '8.00 s (7.40 to 8.60)'
    """
    digits = places(told.high - told.value, told.value - told.low) if digits is None else digits
    return f"{told.value:.{digits}f}{glyph(told.unit)} ({told.low:.{digits}f} to {told.high:.{digits}f})"


def places(*widths: float) -> int:
    """Digits behind the point that show the narrowest of some widths, of those above 0, with two of its own.

    >>> places(0.6, 0.0, 0.25), places(12.0), places(0.0)
    (2, 0, 3)
    """
    narrowest = min((width for width in widths if width > 0.0), default=0.01)
    return min(max(0, 1 - math.floor(math.log10(narrowest))), 6)


def glyph(unit: str) -> str:
    """The unit as it follows a number."""
    return {"deg": "°", "ratio": "", "share": ""}.get(unit, f" {unit}".replace("2", "²").replace("3", "³")).rstrip()


def learned_words(one: Learned) -> list[str]:
    """What is learned about one quantity: a sentence on the bands, one on a factor; what cannot be said is said so."""
    name, n = f"{one.quantity} ({one.came_from})", one.coverage.of
    alike = f" ({len(one.besides)} numbers; those of one occasion err together and count once)"
    counted = f"{name}: {one.coverage.held} of {n} held{alike if len(one.besides) > n else ''}"
    short = ENOUGH_TO_COUNT - n
    bands = _bands(one.coverage) if one.enough_to_count else f"Too few for a word on the bands: {_needed(short)}"
    sentences = [f"{counted}. {bands}"]
    factor = one.scaled
    if factor is not None:
        told = f"{name}: measured over predicted was {factor.ratio:.3f} on the whole ({factor.low:.3f} to "
        told += f"{factor.high:.3f}, {factor.occasions} occasions)"
        last = one.besides[-1].prediction
        digits = places(last.high - last.value, last.value - last.low)
        lean = f". With that, the last prediction of {last.value:.{digits}f}{glyph(last.unit)} would have read "
        lean += f"{last.value * factor.ratio:.{digits}f}. {NOT_APPLIED}"
        sentences.append(told + (lean if factor.shown else ": 1 is among them, so no factor is shown"))
    elif n < ENOUGH_TO_SCALE:
        sentences.append(f"{name}: too few for a factor between measured and predicted: {_needed(ENOUGH_TO_SCALE - n)}")
    return sentences


def all_words(many: Sequence[Learned]) -> list[str]:
    """What is learned about several quantities; those of which nothing can be concluded yet in one last sentence."""
    telling = [one for one in many if one.enough_to_count or one.scaled is not None]
    waiting = [one for one in many if one not in telling]
    sentences = [sentence for one in telling for sentence in learned_words(one)]
    if waiting:
        counts = [f"{one.quantity} ({one.came_from}) {one.coverage.held} of {one.coverage.of}" for one in waiting]
        sentences.append(
            f"Too few occasions to conclude anything yet (bands want {ENOUGH_TO_COUNT}, a factor {ENOUGH_TO_SCALE}); "
            f"held so far: {', '.join(counts)}"
        )
    return sentences


def _needed(short: int) -> str:
    return f"{short} more {'occasion is' if short == 1 else 'occasions are'} needed at least"


def _bands(found: Coverage) -> str:
    between = f"So between {100 * found.low:.0f} and {100 * found.high:.0f} % of such bands hold"
    promised = f"{100 * PROMISED:.0f} %"
    if found.high < PROMISED:
        return f"{between}, and {promised} is promised: these bands are too narrow; read them wider"
    if found.low > PROMISED:
        return f"{between}, more than the {promised} promised: these bands are wider than they need be"
    return f"{between}; the {promised} promised is among them"
