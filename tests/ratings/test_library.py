"""What nothing calls is named as library in the docstring of the package, or is gone."""

import ast
import importlib
import re
from collections import Counter
from pathlib import Path

import ratings

TOP = Path(__file__).resolve().parents[2]
NAMED = re.findall(r"`(ratings\.[\w.]+)`", ratings.__doc__)


def _names_in(tree: ast.AST) -> Counter[str]:
    """Names, attributes and words of strings; imports and docstrings call nothing."""
    found = Counter()
    for node in ast.walk(tree):
        match node:
            case ast.Name(id=name) | ast.Attribute(attr=name):
                found[name] += 1
            case ast.Constant(value=str(text)) if "\n" not in text:
                found.update(re.findall(r"\w+", text))
    return found


def _offers(statement: ast.stmt) -> bool:
    return isinstance(statement, ast.Assign) and ast.unparse(statement.targets[0]) == "__all__"


def _trees() -> dict[str, ast.Module]:
    trees = {}
    for folder in ("ratings", "app", "sample_sessions"):
        for path in (TOP / folder).rglob("*.py"):
            tree = ast.parse(path.read_bytes())
            tree.body = [each for each in tree.body if not _offers(each)]
            trees[".".join(path.relative_to(TOP).with_suffix("").parts)] = tree
    return trees


def _uncalled(tree: ast.Module, everywhere: Counter[str]) -> list[str]:
    functions = [each for each in tree.body if isinstance(each, ast.FunctionDef)]
    return [
        each.name
        for each in functions
        if not each.name.startswith("_")
        if everywhere[each.name] == _names_in(each)[each.name]
    ]


def test_that_what_is_named_as_library_is_there_and_says_what_it_does():
    for name in NAMED:
        module, function = name.rsplit(".", 1)
        assert getattr(importlib.import_module(module), function).__doc__


def test_that_a_public_function_nobody_calls_is_named_as_library():
    trees = _trees()
    everywhere = Counter()
    for tree in trees.values():
        everywhere.update(_names_in(tree))
    uncalled = {
        f"{module}.{name}"
        for module, tree in trees.items()
        if module.startswith("ratings.")
        for name in _uncalled(tree, everywhere)
    }
    assert uncalled <= set(NAMED)
