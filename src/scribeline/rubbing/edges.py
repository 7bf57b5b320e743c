"""Openings in a rubbing: light patches with rubbed grey all round, and their edges to a fraction of a pixel.

Where paper lies on metal the pencil leaves grey; over a port it leaves little; at the edge of the metal it leaves a
dark rim. Along a line across the edge, blurred by lens and paper, the brightness is taken to be

    light Phi(s/w) + dark Phi(-s/w) + rim exp(s/l + (w/l)^2/2) Phi(-(s/w + w/l)),   s = 0 the edge, s > 0 in the port

which is a step with a rim that dies away into the metal over l, seen through a Gaussian blur w. Halfway between light
and dark, the usual choice, lies inside the rim and makes every port too wide. The model is judgement; no source.
"""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from scipy.ndimage import map_coordinates
from scipy.optimize import least_squares
from scipy.special import ndtr

from scribeline.errors import RubbingError
from scribeline.rubbing.photograph import Grey

FloatArray = npt.NDArray[np.float64]

LEAST_AREA_MM2, MOST_AREA_MM2 = 12.0, 4000.0
LEAST_DROP = 0.2
"""Judgement: how much darker it must get across an edge, of the light inside; a gap between strokes is fainter."""
LEAST_CONTRAST = 0.12  # of white; judgement
COARSE_PX_PER_MM = 4.0
CARRIED_ON = 4
LIGHT_SHARE = 0.65
"""From grey to white, where light begins: nearer to white, because strokes make the grey uneven and a port is even."""
MOST_BLUR_MM = 0.35  # judgement: standard deviation of the blur above which a radius means nothing
WHITE_OVER_MM = 14.0
"""How far away the white of the paper may be looked for, to take shadows out; smaller than a shadow, larger than
the grey between two ports."""
POINT_EVERY_MM = 0.2
REACH_MM = 1.6
"""How far to both sides of an edge the picture is looked at."""
STEP_MM = 0.04


@dataclass(frozen=True)
class Opening:
    """One light patch: the points of its edge, going round clockwise on paper, shape (n, 2) [mm].

    noise_mm : how far a single point strays from its neighbours; blur_mm : standard deviation of the edge's blur
    bare : share of the edge without the pencil's grain outside it, which the rest of it has: the end of a shadow
    """

    edge_mm: FloatArray
    noise_mm: float
    blur_mm: float
    bare: float = 0.0

    @property
    def middle_mm(self) -> tuple[float, float]:
        """Middle of its box."""
        low, high = self.edge_mm.min(axis=0), self.edge_mm.max(axis=0)
        return float(0.5 * (low[0] + high[0])), float(0.5 * (low[1] + high[1]))


def openings(flat: Grey, left_mm: float, top_mm: float, px_per_mm: float) -> list[Opening]:
    """Every opening in a part of the paper laid flat, from left to right.

    flat : see `flattening.lay_flat`, of which left_mm, top_mm and px_per_mm are the place and the fineness
    A patch that cannot be measured is left out where others can, such as a soft gap between pencil strokes. Raises
    RubbingError where nothing stands out, or where no edge is sharp and whole enough to be measured.
    """
    even = _without_shadow(flat, px_per_mm)
    patches = _patches(even, px_per_mm)
    found, refusals = [], []
    for patch in patches:
        rough = _resampled(_contour(patch), POINT_EVERY_MM * px_per_mm, 2.0)
        try:
            edge, noise, blur, drop, bare = _edge(even, rough, px_per_mm)
        except RubbingError as refusal:
            refusals.append(refusal)
            continue
        if drop < LEAST_DROP:
            continue
        # the middle of pixel (row, column) is half a pixel into the paper's box
        found.append(Opening((edge + 0.5) / px_per_mm + (left_mm, top_mm), noise, blur, bare))
    if refusals and not found:
        raise refusals[0]
    return sorted(found, key=lambda one: one.middle_mm[0])


def _without_shadow(flat: Grey, px_per_mm: float) -> Grey:
    """Brightness over that of white paper at the same place, so that a shadow's slow change goes.

    First the brightest within WHITE_OVER_MM counts as white: too bright where a shadow begins, so only what is surely
    paper stands out. From there the tone of the paper is carried on into its neighbourhood, a few times over.
    """
    shrink = COARSE_PX_PER_MM / px_per_mm
    small = cv2.resize(flat, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    smooth = cv2.GaussianBlur(small, (0, 0), 0.3 * COARSE_PX_PER_MM)
    tone = np.log(np.maximum(smooth, 0.02))
    size = 2 * round(WHITE_OVER_MM * COARSE_PX_PER_MM) + 1
    brush = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    white = np.log(np.maximum(cv2.dilate(smooth, brush), 0.02))
    reach = 0.35 * WHITE_OVER_MM * COARSE_PX_PER_MM
    white = cv2.GaussianBlur(white, (0, 0), reach)
    for _ in range(CARRIED_ON):
        paper = _light(np.exp(tone - white).astype(np.float32), COARSE_PX_PER_MM).astype(np.float32)
        weight = cv2.GaussianBlur(paper, (0, 0), reach)
        carried = cv2.GaussianBlur(paper * tone, (0, 0), reach) / np.maximum(weight, 1e-6)
        share = np.minimum(weight / 0.05, 1.0)
        white = share * carried + (1.0 - share) * white
    wide = cv2.resize(np.exp(white), (flat.shape[1], flat.shape[0]), interpolation=cv2.INTER_LINEAR)
    return np.asarray(flat / np.maximum(wide, 0.02), dtype=np.float32)


def _light(even: Grey, px_per_mm: float) -> npt.NDArray[np.uint8]:
    """Mask of what is paper rather than rubbed, specks left out."""
    smooth = np.asarray(cv2.GaussianBlur(even, (0, 0), 0.3 * px_per_mm), dtype=np.float32)
    grey, white = _two_levels(smooth)
    if white - grey < LEAST_CONTRAST:
        raise RubbingError(
            f"the rubbing hardly stands out: grey and paper differ by {100 * (white - grey):.0f} % of white\n"
            f"    accepted: {100 * LEAST_CONTRAST:.0f} % or more\n"
            "    what to do: rub again with a softer pencil laid flat, or light the paper better"
        )
    light = (smooth > grey + LIGHT_SHARE * (white - grey)).astype(np.uint8)
    size = 2 * round(0.4 * px_per_mm) + 1
    return np.asarray(
        cv2.morphologyEx(light, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)))
    )


def _patches(even: Grey, px_per_mm: float) -> list[npt.NDArray[np.uint8]]:
    """Masks of the light patches that are enclosed by grey and as good as convex."""
    light = _light(even, px_per_mm)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(light, connectivity=4)
    height, width = light.shape
    found = []
    for i in range(1, count):
        x, y, w, h, area = (int(one) for one in stats[i])
        enclosed = x > 1 and y > 1 and x + w < width - 1 and y + h < height - 1
        if not (enclosed and LEAST_AREA_MM2 <= area / px_per_mm**2 <= MOST_AREA_MM2):
            continue
        patch = (labels == i).astype(np.uint8)
        hull = cv2.convexHull(_contour(patch).astype(np.float32).reshape(-1, 1, 2))
        if area >= 0.75 * cv2.contourArea(hull):  # a port is all but convex; a gap between strokes is not
            found.append(patch)
    return found


def _two_levels(smooth: Grey) -> tuple[float, float]:
    """Brightness of the rubbed grey and of the paper: medians on both sides of Otsu's threshold."""
    eight = np.clip(smooth * 200.0, 0, 255).astype(np.uint8)
    threshold, _ = cv2.threshold(eight, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    below, above = eight[eight <= threshold], eight[eight > threshold]
    if below.size == 0 or above.size == 0:
        return 0.0, 0.0
    return float(np.median(below)) / 200.0, float(np.median(above)) / 200.0


def _contour(patch: npt.NDArray[np.uint8]) -> FloatArray:
    found, _ = cv2.findContours(patch, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return np.asarray(max(found, key=len), dtype=np.float64).reshape(-1, 2)


def _resampled(points: FloatArray, step: float, smooth: float) -> FloatArray:
    """Points evenly spaced along a closed line, smoothed over some steps, clockwise as seen on paper."""
    ahead = np.roll(points, -1, axis=0)
    turn = float((points[:, 0] * ahead[:, 1] - ahead[:, 0] * points[:, 1]).sum())
    if turn < 0.0:  # y runs down: a positive turn is clockwise
        points = points[::-1]
    closed = np.vstack([points, points[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(round(along[-1] / step), 24)
    at = np.arange(count) * along[-1] / count
    even = np.column_stack([np.interp(at, along, closed[:, i]) for i in (0, 1)])
    return _smoothed(even, smooth)


def _smoothed(values: FloatArray, width: float) -> FloatArray:
    """A running mean with Gaussian weights round a closed line; `width` is the standard deviation in points."""
    reach = int(np.ceil(3.0 * width))
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / width) ** 2)
    weights /= weights.sum()
    out = sum(
        weight * np.roll(values, shift, axis=0) for shift, weight in zip(range(-reach, reach + 1), weights, strict=True)
    )
    return np.asarray(out)


def _inwards(points: FloatArray) -> FloatArray:
    """Unit vectors into the patch, for points going round clockwise with y down."""
    tangent = np.roll(points, -2, axis=0) - np.roll(points, 2, axis=0)
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    return np.asarray(normal / np.maximum(np.hypot(*normal.T), 1e-9)[:, None])


def _edge(even: Grey, rough: FloatArray, px_per_mm: float) -> tuple[FloatArray, float, float, float, float]:
    """The edge near a rough line [pixels], how far single points stray, its blur [mm], how much darker it gets, and
    the share of it without grain outside."""
    offsets = np.arange(-REACH_MM, REACH_MM + 0.5 * STEP_MM, STEP_MM)
    line = rough
    for _ in range(3):  # in a shadow the rough line lies up to a millimetre inside
        inwards, profiles = _across(even, line, offsets, px_per_mm)
        crossing = _without_strays(_crossings(_smoothed(profiles, 1.5), offsets))
        line = _resampled(line + inwards * (crossing * px_per_mm)[:, None], POINT_EVERY_MM * px_per_mm, 0.7)
    inwards, profiles = _across(even, line, offsets, px_per_mm)
    crossing = _without_strays(_crossings(profiles, offsets))
    noise = float(np.sqrt(((crossing - _smoothed(crossing, 3.0)) ** 2).mean()))
    # the same profiles, each counted from its own crossing
    aligned = np.stack([np.interp(offsets, offsets - at, one) for at, one in zip(crossing, profiles, strict=True)])
    profile = np.median(aligned, axis=0)
    drop = 1.0 - float(np.median(profile[offsets < -0.4]) / np.median(profile[offsets > 0.4]))
    shift, blur = _model(profile, offsets)
    if blur > MOST_BLUR_MM:
        raise RubbingError(
            f"too blurred to measure: an edge is {2.56 * blur:.2f} mm wide (10 to 90 %)\n"
            f"    accepted: up to {2.56 * MOST_BLUR_MM:.2f} mm\n"
            "    what to do: hold the phone still, let it focus on the paper, add light"
        )
    final = line + inwards * ((crossing + shift) * px_per_mm)[:, None]
    return final, noise, blur, drop, _bare(aligned, offsets)


def _bare(aligned: FloatArray, offsets: FloatArray) -> float:
    """Share of an edge that has no grain of pencil outside it, though the rest has; judged over some 3 mm."""
    outside, inside = ((part - _smoothed(part, 3.0)) ** 2 for part in
                       (aligned[:, (offsets > -1.5) & (offsets < -0.5)], aligned[:, offsets > 0.5]))  # fmt: skip
    grain = _smoothed(outside.mean(axis=1), 7.0)
    usual, without = float(np.median(grain)), float(np.median(inside.mean(axis=1)))
    return float((grain < without + 0.25 * (usual - without)).mean()) if usual > 2.0 * without else 0.0


def _across(even: Grey, line: FloatArray, offsets: FloatArray, px_per_mm: float) -> tuple[FloatArray, FloatArray]:
    """Unit vectors into the patch along a line [pixels], and the brightness along each: shape (points, offsets)."""
    inwards = _inwards(_smoothed(line, 2.0))
    places = line[:, None, :] + inwards[:, None, :] * (offsets * px_per_mm)[None, :, None]
    return inwards, map_coordinates(even, [places[..., 1], places[..., 0]], order=1, mode="nearest")


def _crossings(profiles: FloatArray, offsets: FloatArray) -> FloatArray:
    """Where each profile passes halfway from the dark outside the edge to the light inside, nearest to 0."""
    light = np.median(profiles[:, offsets > 0.6], axis=1)
    dark = np.percentile(profiles[:, offsets < 0.3], 15, axis=1)
    half = 0.5 * (light + dark)
    below = profiles[:, :-1] <= half[:, None]
    above = profiles[:, 1:] > half[:, None]
    rising = below & above
    cost = np.where(rising, np.abs(offsets[:-1])[None, :], np.inf)
    at = cost.argmin(axis=1)
    rows = np.arange(len(profiles))
    p0, p1 = profiles[rows, at], profiles[rows, at + 1]
    share = np.clip((half - p0) / np.maximum(p1 - p0, 1e-6), 0.0, 1.0)
    return np.where(rising.any(axis=1), offsets[at] + share * STEP_MM, np.nan)


def _without_strays(values: FloatArray) -> FloatArray:
    """Missing places and those further than 0.25 mm from their neighbours replaced by what lies round them."""
    known = np.isfinite(values)
    if known.sum() < 0.6 * len(values):
        raise RubbingError(
            "an opening's edge can be seen along less than 60 % of its length\n"
            "    accepted: 60 % or more\n    what to do: rub over every edge again, evenly"
        )
    around = np.arange(len(values))
    filled = np.interp(around, around[known], values[known], period=len(values))
    windows = np.stack([np.roll(filled, shift) for shift in range(-6, 7)])
    middle = np.median(windows, axis=0)
    return np.where(np.abs(filled - middle) > 0.25, middle, filled)


def _model(profile: FloatArray, offsets: FloatArray) -> tuple[float, float]:
    """Shift of the true edge from offset 0, and blur, both mm, from the profile of the whole edge together."""
    near = np.abs(offsets) < 1.2
    s, seen = offsets[near], profile[near]
    light, dark = float(np.median(seen[s > 0.7])), float(np.median(seen[s < -0.7]))

    def brightness(numbers: FloatArray) -> FloatArray:
        at, w, bright, grey, rim, reach = numbers
        d = s - at
        fade = np.minimum(d / reach + 0.5 * (w / reach) ** 2, 40.0)
        return np.asarray(bright * ndtr(d / w) + grey * ndtr(-d / w) + rim * np.exp(fade) * ndtr(-(d / w + w / reach)))

    fit = least_squares(
        lambda n: brightness(n) - seen,
        [0.0, 0.12, light, dark, float(min(seen.min() - dark, -0.01)), 0.25],
        bounds=([-0.5, 0.01, 0.0, 0.0, -2.0, 0.05], [0.5, 1.0, 2.0, 2.0, 0.0, 0.8]),
    )
    return float(fit.x[0]), float(fit.x[1])
