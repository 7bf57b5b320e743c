"""The slider-crank from its definition at 40 digits, sharing nothing with the code under test."""

import mpmath as mp
import numpy as np

mp.mp.dps = 40


class ExactCrank:
    """y(phi) = r cos phi + sqrt(l^2 - (r sin phi - e)^2); depth counted from the largest y."""

    def __init__(self, stroke: float, rod: float, offset: float) -> None:
        self.r, self.rod, self.e = mp.mpf(stroke) / 2, mp.mpf(rod), mp.mpf(offset)
        self.tdc_phi = mp.asin(self.e / (self.rod + self.r))
        self.bdc = mp.pi + mp.asin(self.e / (self.rod - self.r)) - self.tdc_phi

    def height(self, phi: mp.mpf) -> mp.mpf:
        return self.r * mp.cos(phi) + mp.sqrt(self.rod**2 - (self.r * mp.sin(phi) - self.e) ** 2)

    def depth(self, theta: mp.mpf) -> mp.mpf:
        return self.height(self.tdc_phi) - self.height(self.tdc_phi + mp.mpf(theta))

    def derivative(self, theta: float, order: int) -> mp.mpf:
        return mp.diff(self.depth, mp.mpf(theta), order)

    def angle(self, depth: float, low: mp.mpf, high: mp.mpf) -> mp.mpf:
        """Halve the angles between low and high, where the depth passes monotonely, 120 times."""
        rising = self.depth(high) > self.depth(low)
        for _ in range(120):
            middle = (low + high) / 2
            if (self.depth(middle) < depth) == rising:
                low = middle
            else:
                high = middle
        return (low + high) / 2

    def angle_down(self, depth: float) -> mp.mpf:
        return self.angle(depth, mp.mpf(0), self.bdc)

    def angle_up(self, depth: float) -> mp.mpf:
        return self.angle(depth, self.bdc, 2 * mp.pi)


def random_cranks(count: int, seed: int = 1) -> list[tuple[float, float, float]]:
    """Strokes, rods and offsets, mm, from usual to far outside what anybody builds."""
    rng = np.random.default_rng(seed)
    cranks = []
    for _ in range(count):
        stroke = rng.uniform(20.0, 80.0)
        rod = stroke * rng.uniform(0.56, 3.0)
        cranks.append((stroke, rod, rng.choice([0.0, 1.0]) * rng.uniform(-0.9, 0.9) * (rod - stroke / 2.0)))
    return cranks
