"""What a time loop promises of its machine code: no memory is allocated, and single numbers stay single."""

import numpy as np
import pytest
from numba import float32, int64, njit, types
from numba.core.errors import TypingError

from scribeline.kernels import abreast, duct
from scribeline.kernels.compiling import compiled
from scribeline.kernels.exact import REST_OF_THIRD, THIRD

TABLE, ROW = float32[:, ::1], float32[::1]
PASSES = [
    (duct.decode, (TABLE, TABLE, ROW)),
    (duct.unphysical_cells, (TABLE, TABLE)),
    (duct.find_slopes, (TABLE, TABLE, TABLE, int64)),
    (duct.predict, (TABLE, TABLE, TABLE, ROW, TABLE, TABLE)),
    (duct.exchange, (TABLE, TABLE, TABLE, TABLE, int64)),
    (duct.advance, (TABLE, TABLE, TABLE, ROW, TABLE, TABLE, int64)),
    (abreast.fastest, (TABLE, TABLE, ROW)),
]


def precisions(function, signature) -> set[types.Type]:
    """Floating-point types of everything that a function computes with, functions written into it included."""
    anew = njit(error_model="numpy", _nrt=False)(function.py_func)  # one that is kept on disk no longer knows
    anew.compile(signature)
    kinds = anew.overloads[signature].type_annotation.typemap.values()
    return {kind for kind in kinds if isinstance(kind, types.Float)}


@pytest.mark.parametrize(("function", "signature"), PASSES, ids=lambda one: getattr(one, "__name__", ""))
def test_single_numbers_stay_single(function, signature) -> None:
    """Half as many fit into a register as soon as one of them is a double, and nothing else would show it."""
    assert precisions(function, signature) <= {float32}


def test_a_double_among_them_is_seen() -> None:
    """The test above can fail."""

    @compiled(cache=False)
    def half(q):
        for k in range(q.size):
            q[k] = 0.5 * q[k]

    assert types.float64 in precisions(half, (ROW,))


def test_a_third_in_two_parts_is_a_third() -> None:
    assert float(THIRD) + float(REST_OF_THIRD) == pytest.approx(1.0 / 3.0, rel=4e-15)


def test_what_allocates_memory_does_not_compile() -> None:
    @compiled(cache=False)
    def more(n):
        return np.zeros(n).sum()

    with pytest.raises(TypingError):
        more(3)
