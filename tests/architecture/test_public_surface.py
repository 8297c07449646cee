# SPDX-License-Identifier: MIT
"""What `import fea` offers: sorted, complete, documented."""

import inspect
from types import ModuleType

import fea


def test_the_public_names_are_sorted_and_unique():
    assert list(fea.__all__) == sorted(set(fea.__all__), key=lambda name: (name.lower(), name))


def test_every_public_name_is_there_and_documented():
    for name in fea.__all__:
        value = getattr(fea, name)
        if inspect.isclass(value) or inspect.isroutine(value):
            assert inspect.getdoc(value), name
            assert value.__module__.startswith("fea."), name


def test_nothing_else_looks_public():
    rooms = {name for name, value in vars(fea).items() if isinstance(value, ModuleType)}
    others = {name for name in dir(fea) if not name.startswith("_")} - rooms
    assert others == set(fea.__all__)


def test_an_unknown_name_is_an_attribute_error():
    assert not hasattr(fea, "no_such_name")
