"""Small files and small functions: the hard limits of DEVELOPERS.md."""

import ast

from tests.architecture.source_tree import ROOMS, modules, own_text_files

MODULE_LINES_MAX = 400
TEST_MODULE_LINES_MAX = 600
TEMPLATE_LINES_MAX = 250
FUNCTION_LINES_MAX = 70
VIEW_METHOD_LINES_MAX = 40
ARGUMENTS_MAX = 8

FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)


def _functions(tree):
    return [node for node in ast.walk(tree) if isinstance(node, FUNCTIONS)]


def _lines(function):
    return function.end_lineno - function.lineno + 1


def test_no_module_passes_its_limit():
    limits = {"tests": TEST_MODULE_LINES_MAX}

    too_long = [
        (path, source.count("\n"))
        for path, source, _ in modules("tests", *ROOMS)
        if source.count("\n") > limits.get(path.split("/")[0], MODULE_LINES_MAX)
    ]

    assert too_long == []


def test_no_template_passes_its_limit():
    too_long = [
        (path, text.count("\n"))
        for path, text in own_text_files()
        if path.startswith("templates/") and text.count("\n") > TEMPLATE_LINES_MAX
    ]

    assert too_long == []


def test_no_function_passes_its_limit():
    too_long = [
        (path, function.name, _lines(function))
        for path, _, tree in modules("tests", *ROOMS)
        for function in _functions(tree)
        if _lines(function) > (VIEW_METHOD_LINES_MAX if "/views" in path else FUNCTION_LINES_MAX)
    ]

    assert too_long == []


def test_no_function_takes_too_many_arguments():
    """Services take their fields by keyword, one for each thing a person enters; they are exempt."""
    too_many = []
    for path, _, tree in modules(*ROOMS):
        for function in _functions(tree):
            arguments = function.args
            count = len(arguments.posonlyargs) + len(arguments.args)
            if "/services" not in path:
                count += len(arguments.kwonlyargs)
            if count > ARGUMENTS_MAX:
                too_many.append((path, function.name, count))

    assert too_many == []
