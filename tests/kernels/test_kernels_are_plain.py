"""What lets the same source run on a graphics processor: scalar helpers without allocation, objects, exceptions.

numba-cuda compiles njit functions as device functions if they use numbers and array elements only. This test reads
the source of every function that a cell or an end needs and refuses what such a compiler refuses.
"""

import ast
import inspect
import textwrap

import pytest

from scribeline.cycle import cylinder, turning, turning_abreast
from scribeline.kernels import abreast, boundaries, crank, duct, elementary, ends, gas, network, riemann, volumes
from scribeline.models import annand, knock, scavenging, wiebe

ALLOWED_CALLS = {"abs", "min", "max", "range", "int", "float"}
MAY_ALLOCATE = {"perfect_gas", "march", "_run"}  # builders and drivers, not called per cell


def compiled(module):
    for name, value in vars(module).items():
        if hasattr(value, "py_func") and value.py_func.__module__ == module.__name__ and name not in MAY_ALLOCATE:
            yield pytest.param(value, id=f"{module.__name__}.{name}")


MODULES = (
    abreast, annand, boundaries, crank, cylinder, duct, elementary, ends, gas, knock, network, riemann, scavenging,
    turning, turning_abreast, volumes, wiebe,
)  # fmt: skip
FUNCTIONS = [function for module in MODULES for function in compiled(module)]


@pytest.mark.parametrize("function", FUNCTIONS)
def test_no_allocation_no_objects_no_exceptions(function):
    tree = ast.parse(textwrap.dedent(inspect.getsource(function.py_func)))
    names = function.py_func.__globals__
    function_body = tree.body[0]
    for node in (node for statement in function_body.body for node in ast.walk(statement)):
        assert not isinstance(
            node, (ast.Raise, ast.Try, ast.Assert, ast.List, ast.Dict, ast.Set, ast.ListComp, ast.JoinedStr)
        )
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Name):
                called = node.func.id
                assert called in ALLOWED_CALLS or hasattr(names[called], "py_func"), called
            else:
                assert isinstance(node.func, ast.Attribute)
                assert node.func.value.id in {"np", "math"}
                assert node.func.attr in {
                    "sqrt", "exp", "expm1", "log", "log1p", "sin", "cos", "asin", "atan2", "floor", "degrees", "radians"
                }, node.func.attr  # fmt: skip


def test_there_is_something_to_look_at():
    assert len(FUNCTIONS) > 60
