# SPDX-License-Identifier: MIT
"""What `import fea` offers: sorted, complete, documented."""

import inspect

import fea


def test_the_public_names_are_sorted_and_unique():
    assert list(fea.__all__) == sorted(set(fea.__all__))


def test_every_public_name_is_there_and_documented():
    for name in fea.__all__:
        value = getattr(fea, name)
        if inspect.isclass(value) or inspect.isroutine(value):
            assert inspect.getdoc(value), name
            assert value.__module__.startswith("fea."), name


def test_nothing_else_of_ours_looks_public():
    ours = {
        name
        for name, value in vars(fea).items()
        if not name.startswith("_") and getattr(value, "__module__", "").startswith("fea.")
    }
    assert ours <= set(fea.__all__)


def test_an_unknown_name_is_an_attribute_error():
    assert not hasattr(fea, "no_such_name")
