"""Logarithm, exponential and power without branches or calls into a library: a compiler does several in one stroke."""

import math

from scribeline.kernels.compiling import compiled

LN2 = math.log(2.0)


@compiled(inline="always")
def logarithm_near_one(a: float) -> float:
    """Natural logarithm of a number between 0.7 and 1.42, by its series in (a - 1)/(a + 1)."""
    y = (a - 1.0) / (a + 1.0)
    z = y * y
    series = 1.0 / 17.0 + z * (1.0 / 19.0 + z * (1.0 / 21.0))
    series = 1.0 / 9.0 + z * (1.0 / 11.0 + z * (1.0 / 13.0 + z * (1.0 / 15.0 + z * series)))
    series = 1.0 + z * (1.0 / 3.0 + z * (1.0 / 5.0 + z * (1.0 / 7.0 + z * series)))
    return 2.0 * y * series


@compiled(inline="always")
def logarithm(x: float) -> float:
    """Natural logarithm of a number within 2^31 either way, without branches or calls; to 1e-15 of 1 or of itself.

    Powers of two are taken out until the rest is near 1.

    >>> abs(float(logarithm(0.3)) - math.log(0.3)) < 2e-15
    True
    """
    a, e = x, 0.0
    up, down = a < 2.0**-15.5, a > 2.0**15.5
    a, e = a * (65536.0 if up else 2.0**-16 if down else 1.0), e - (16.0 if up else -16.0 if down else 0.0)
    up, down = a < 2.0**-7.5, a > 2.0**7.5
    a, e = a * (256.0 if up else 2.0**-8 if down else 1.0), e - (8.0 if up else -8.0 if down else 0.0)
    up, down = a < 2.0**-3.5, a > 2.0**3.5
    a, e = a * (16.0 if up else 0.0625 if down else 1.0), e - (4.0 if up else -4.0 if down else 0.0)
    up, down = a < 2.0**-1.5, a > 2.0**1.5
    a, e = a * (4.0 if up else 0.25 if down else 1.0), e - (2.0 if up else -2.0 if down else 0.0)
    up, down = a < 2.0**-0.5, a > 2.0**0.5
    a, e = a * (2.0 if up else 0.5 if down else 1.0), e - (1.0 if up else -1.0 if down else 0.0)
    return e * LN2 + logarithm_near_one(a)


@compiled(inline="always")
def logarithm_below_one(x: float) -> float:
    """As `logarithm` of a number between 3e-5 and 1, for half the work.

    >>> abs(float(logarithm_below_one(0.3)) - math.log(0.3)) < 2e-15
    True
    """
    a, e = x, 0.0
    up = a < 2.0**-7.5
    a, e = a * (256.0 if up else 1.0), 8.0 if up else 0.0
    up = a < 2.0**-3.5
    a, e = a * (16.0 if up else 1.0), e + (4.0 if up else 0.0)
    up = a < 2.0**-1.5
    a, e = a * (4.0 if up else 1.0), e + (2.0 if up else 0.0)
    up = a < 2.0**-0.5
    a, e = a * (2.0 if up else 1.0), e + (1.0 if up else 0.0)
    return logarithm_near_one(a) - e * LN2


@compiled(inline="always")
def exponential(x: float) -> float:
    """e^x for x within 40 either way, without branches or calls, to 1e-14, near 0 to 2e-16.

    The series of e^t - 1 for t = x/256, then doubled eight times: (1 + y)^2 - 1 = y (2 + y).

    >>> abs(float(exponential(-3.7)) / math.exp(-3.7) - 1.0) < 2e-15
    True
    """
    t = x * 0.00390625
    y = 1.0 / 5040.0 + t * (1.0 / 40320.0 + t * (1.0 / 362880.0 + t * (1.0 / 3628800.0)))
    y = 1.0 / 120.0 + t * (1.0 / 720.0 + t * y)
    y = t * (1.0 + t * (0.5 + t * (1.0 / 6.0 + t * (1.0 / 24.0 + t * y))))
    y *= 2.0 + y
    y *= 2.0 + y
    y *= 2.0 + y
    y *= 2.0 + y
    y *= 2.0 + y
    y *= 2.0 + y
    y *= 2.0 + y
    return 1.0 + y * (2.0 + y)


@compiled(inline="always")
def power(base: float, exponent: float) -> float:
    """base^exponent of a positive number, without branches or calls; see `logarithm` and `exponential`.

    >>> abs(float(power(0.3, 3.7)) / 0.3**3.7 - 1.0) < 2e-15
    True
    """
    return exponential(exponent * logarithm(base))


@compiled(inline="always")
def power_below_one(base: float, exponent: float) -> float:
    """As `power` of a number between 3e-5 and 1.

    >>> abs(float(power_below_one(0.3, 3.7)) / 0.3**3.7 - 1.0) < 2e-15
    True
    """
    return exponential(exponent * logarithm_below_one(base))
