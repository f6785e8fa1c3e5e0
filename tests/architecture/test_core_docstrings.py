"""Everything public in the pure core says what it answers."""

import ast

from tests.architecture.source_tree import modules

CORE = ("compliance/rulebook", "compliance/forecast", "jobs/weighing", "jobs/physics")


def _public(tree):
    return [
        node
        for node in tree.body
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_")
    ]


def test_each_public_function_and_class_of_the_core_has_a_docstring():
    silent = [
        (path, node.name)
        for path, _, tree in modules(*CORE)
        for node in _public(tree)
        if not ast.get_docstring(node)
    ]

    assert silent == []


def test_each_module_of_the_core_says_what_is_in_it():
    silent = [path for path, _, tree in modules(*CORE) if tree.body and not ast.get_docstring(tree)]

    assert silent == []
