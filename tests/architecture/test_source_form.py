# SPDX-License-Identifier: MIT
"""The form of the source: sizes, heads, no print, and nothing of one machine or of a registry."""

import ast
import re
import subprocess

import pytest

FILE_LINES = 400
FUNCTION_LINES = 40
# "path:function" with the reason why it may be longer.
LONG_FUNCTIONS: dict[str, str] = {}

FORBIDDEN = {
    "a registry's host": r"pypi\.org|pythonhosted|registry\.npmjs|deb\.debian\.org",
    "a path of one machine": r"(?<![\w.}])/(?:work|root|home|tmp|opt)/",
}
HOLDERS = {"tests/architecture/test_source_form.py"}


def body_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function without its docstring."""
    total = function.end_lineno - function.lineno + 1
    if ast.get_docstring(function) is None:
        return total
    docstring = function.body[0]
    return total - (docstring.end_lineno - docstring.lineno + 1)


def long_functions(tree: ast.AST) -> list[str]:
    return [
        f"{node.name} ({body_lines(node)} lines)"
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and body_lines(node) > FUNCTION_LINES
    ]


def printing_lines(tree: ast.AST) -> list[int]:
    return [
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and getattr(node.func, "id", None) == "print"
    ]


def forbidden_words(text: str) -> list[str]:
    """What a text must not contain: "line: what (the word)"."""
    return [
        f"{number}: {what} ({match[0]})"
        for number, line in enumerate(text.splitlines(), start=1)
        for what, pattern in FORBIDDEN.items()
        for match in [re.search(pattern, line, flags=re.I)]
        if match
    ]


@pytest.fixture(scope="module")
def tracked(root):
    listing = subprocess.run(
        ["git", "ls-files", "-z"], cwd=root, capture_output=True, text=True, check=True
    )
    return [root / name for name in listing.stdout.split("\0") if name and (root / name).is_file()]


def test_files_stay_short(modules, test_modules):
    long = [
        f"{module.path} ({count} lines)"
        for module in modules + test_modules
        if (count := len(module.text.splitlines())) > FILE_LINES
    ]
    assert long == []


def test_functions_stay_short(modules):
    long = {f"{module.path}:{name}" for module in modules for name in long_functions(module.tree)}
    assert {name for name in long if name.split(" ")[0] not in LONG_FUNCTIONS} == set()


def test_a_long_function_would_be_seen():
    lines = "\n".join(["def f():", '    """Says', '    more."""'] + ["    a = 1"] * 40)
    assert long_functions(ast.parse(lines)) == ["f (41 lines)"]
    assert long_functions(ast.parse(lines.removesuffix("\n    a = 1"))) == []


def test_every_module_has_licence_and_docstring(modules, test_modules):
    bare = [
        module.path
        for module in modules + test_modules
        if not module.text.startswith("# SPDX-License-Identifier: MIT\n")
        or not ast.get_docstring(module.tree)
    ]
    assert bare == []


def test_only_the_command_line_prints(modules):
    printing = [
        f"{module.path}:{line}"
        for module in modules
        if module.path != "fea/cli.py"
        for line in printing_lines(module.tree)
    ]
    assert printing == []


def test_a_print_would_be_seen():
    assert printing_lines(ast.parse("def f():\n    print('x')")) == [2]


def test_nothing_names_a_registry_or_a_machine(root, tracked):
    found = []
    for path in tracked:
        name = path.relative_to(root).as_posix()
        data = path.read_bytes()
        if name not in HOLDERS and b"\0" not in data:
            found += [f"{name}:{word}" for word in forbidden_words(data.decode("utf-8"))]
    assert len(tracked) > 20
    assert found == []


@pytest.mark.parametrize("text", ["see https://PyPI.org/x", "open /home/me/leg.stl", "x='/tmp/a'"])
def test_a_forbidden_word_would_be_seen(text):
    assert len(forbidden_words(text)) == 1


@pytest.mark.parametrize("text", ["path/to/tmp/x", "a $HOME/x", "homework/root"])
def test_harmless_words_pass(text):
    assert forbidden_words(text) == []
