"""How geometry calls a kernel: numbers and arrays of any matching shapes in, one array of the common shape out.

Kernels want float64 arrays of one length and know metres and radians only; a call here spreads the operands as numpy
spreads them. Unit factors of the geometry files stand here too, so that they are written once.
"""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

MM = 1e-3  # metre
MM2 = 1e-6  # square metre
DEG = np.pi / 180.0  # radian


def over(kernel: Callable[..., None], *operands: npt.ArrayLike) -> FloatArray:
    """Run `kernel(*flat operands, out)` over operands of any shapes that broadcast, and return the common shape.

    Operands that are all plain numbers give a numpy float, which is as good as a Python one.

    >>> from scribeline.kernels import crank
    >>> float(over(crank.true_stroke, 0.042, 0.085, 0.0))
    0.042
    """
    arrays = [np.asarray(operand, dtype=np.float64) for operand in operands]
    shape = arrays[0].shape
    if any(array.shape != shape for array in arrays):
        shape = np.broadcast_shapes(*(array.shape for array in arrays))
    flat = []
    for array in arrays:
        if array.shape != shape or not array.flags.carray:
            spread = np.empty(shape)
            spread[...] = array
            array = spread
        flat.append(array.ravel())
    out = np.empty(flat[0].size)
    kernel(*flat, out)
    result: FloatArray = out.reshape(shape)[()]
    return result
