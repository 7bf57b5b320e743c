"""Shapes, strides and kinds of operand that a kernel call must accept."""

import doctest

import numpy as np
import pytest

from scribeline.geometry import broadcast
from scribeline.geometry.broadcast import FloatArray, over


def weighted(a: FloatArray, b: FloatArray, out: FloatArray) -> None:
    """Stand in for a kernel: one length, float64, contiguous and writeable, or it complains."""
    for operand in (a, b, out):
        assert operand.dtype == np.float64
        assert operand.ndim == 1
        assert operand.flags.carray
    out[:] = a + 10.0 * b


def test_plain_numbers_give_a_plain_number() -> None:
    got = over(weighted, 1, 2)
    assert isinstance(got, float)
    assert got == 21.0


READ_ONLY = np.arange(3.0)
READ_ONLY.setflags(write=False)


@pytest.mark.parametrize(
    ("a", "b"),
    [
        (READ_ONLY, READ_ONLY),
        ([1, 2, 3], 4),
        (np.arange(3.0)[:, None], np.arange(4.0)),
        (np.arange(12.0).reshape(3, 4).T, np.arange(3.0)),
        (np.arange(10.0)[::2], np.arange(5)),
        (np.broadcast_to(np.arange(3.0), (2, 3)), 1.0),
        (np.empty((0, 3)), 1.0),
        (np.float32(2.0), np.ones((2, 1, 2), dtype=np.int64)),
    ],
)
def test_operands_spread_as_in_numpy(a: object, b: object) -> None:
    expected = np.asarray(a) + 10.0 * np.asarray(b)
    got = over(weighted, a, b)  # type: ignore[arg-type]
    assert got.shape == expected.shape
    np.testing.assert_array_equal(got, expected)


def test_shapes_that_do_not_match_are_refused_by_numpy() -> None:
    with pytest.raises(ValueError, match="shape mismatch"):
        over(weighted, [1, 2], [1, 2, 3])


def test_operands_are_left_alone() -> None:
    a = np.arange(3.0)
    over(weighted, a, a)
    np.testing.assert_array_equal(a, [0.0, 1.0, 2.0])


def test_examples() -> None:
    result = doctest.testmod(broadcast)
    assert result.attempted > 0
    assert result.failed == 0
