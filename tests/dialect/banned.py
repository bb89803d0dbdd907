"""What the firmware must not contain, because its two interpreters differ in it or a board lacks it.

Found by trying each in MicroPython 1.28 and CPython 3.11 side by side.
"""

import ast
import re

# "%.1f" % 0.25 is 0.3 in one interpreter and 0.2 in the other, and quarter degrees are what a
# thermocouple chip counts in. %.2f agreed on everything tried.
SHORT_FORMAT = re.compile(r"(?:%[-+ #0]*\d*|:[^{}]*|^[-+ #0<>^=]*\d*)\.[01][fFeEgG]")

MISSING_NAMES = frozenset(
    "FileNotFoundError PermissionError ConnectionError IOError TimeoutError BrokenPipeError vars".split()
)
MISSING_METHODS = frozenset(
    "hexdigest bit_length is_integer zfill ljust rjust title removeprefix removesuffix tobytes cast "
    "hypot prod gcd findall fullmatch makedirs".split()
)
MISSING_MODULES = frozenset(
    "typing __future__ dataclasses enum abc functools itertools contextlib copy datetime logging "
    "pathlib".split()
)
MISSING_KEYWORDS = {"print": {"flush"}, "zip": {"strict"}, "sum": {"start"}, "from_bytes": {"signed"}}


def _is_time_name(name: str) -> bool:
    """Whether a name stands for an instant or a total, which are integers.

    A carry is what rounding left over: a fraction by nature, and never more than one grain.
    """
    return name.lower().endswith(("_ms", "_us")) and "carry" not in name


def _makes_float(node: ast.expr) -> bool:
    """Whether an expression holds a float literal or a true division outside a call.

    A call may round: int(seconds * 1000.0) is an integer again.
    """
    if isinstance(node, ast.Call):
        return isinstance(node.func, ast.Name) and node.func.id == "float"
    if isinstance(node, ast.Constant):
        return isinstance(node.value, float)
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Div):
        return True
    if isinstance(node, ast.Compare):
        return False
    return any(_makes_float(child) for child in ast.iter_child_nodes(node) if isinstance(child, ast.expr))


def _name_of(node: ast.AST) -> str:
    if isinstance(node, ast.Name):
        return node.id
    return node.attr if isinstance(node, ast.Attribute) else ""


def _float_times(tree: ast.AST) -> list[tuple[int, str]]:
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign):
            named = [(_name_of(target), node.value) for target in node.targets]
        elif isinstance(node, ast.AugAssign | ast.AnnAssign) and node.value is not None:
            named = [(_name_of(node.target), node.value)]
        elif isinstance(node, ast.Call):
            named = [(word.arg or "", word.value) for word in node.keywords]
        elif isinstance(node, ast.arguments):
            given = [*node.posonlyargs, *node.args]
            named = [(a.arg, d) for a, d in zip(given[::-1], node.defaults[::-1], strict=False)]
            named += [(a.arg, d) for a, d in zip(node.kwonlyargs, node.kw_defaults, strict=True) if d]
        else:
            named = []
        found += [
            (value.lineno, f"{name} is an integer, it gets a float")
            for name, value in named
            if _is_time_name(name) and _makes_float(value)
        ]
        if isinstance(node, ast.arg) and _is_time_name(node.arg) and _name_of(node.annotation) == "float":
            found.append((node.lineno, f"{node.arg} is an integer, it is declared a float"))
    return found


def _formats(tree: ast.AST) -> list[tuple[int, str]]:
    """Formats with no or one decimal in % templates, f-strings, str.format() and format()."""
    docstrings = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    return [
        (node.lineno, f"format {node.value!r} rounds halves differently in the two interpreters")
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str | bytes)
        and id(node) not in docstrings
        and SHORT_FORMAT.search(node.value if isinstance(node.value, str) else node.value.decode("latin-1"))
    ]


def _names(tree: ast.AST, *, may_print: bool, may_open: bool) -> list[tuple[int, str]]:
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.ExceptHandler) and node.type is None:
            found.append((node.lineno, "bare except: name what is caught"))
        elif isinstance(node, ast.Import | ast.ImportFrom):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else [a.name for a in node.names]
            found += [
                (node.lineno, f"module {name} is missing on a board")
                for name in names
                if name.split(".")[0] in MISSING_MODULES
            ]
        elif isinstance(node, ast.Name) and node.id in MISSING_NAMES:
            found.append((node.lineno, f"{node.id} is missing on a board"))
        elif isinstance(node, ast.Call):
            called = _name_of(node.func)
            if isinstance(node.func, ast.Attribute) and called in MISSING_METHODS:
                found.append((node.lineno, f".{called}() is missing on a board"))
            if isinstance(node.func, ast.Name):
                if called == "print" and not may_print:
                    found.append((node.lineno, "print() would land among the messages of the link"))
                if called == "open" and not may_open:
                    found.append((node.lineno, "open() has no place in the core"))
                if called == "round" and len(node.args) + len(node.keywords) > 1:
                    found.append((node.lineno, "round() to digits differs in the two interpreters"))
            wrong = {word.arg for word in node.keywords} & MISSING_KEYWORDS.get(called, set())
            found += [(node.lineno, f"{called}({word}=) is missing on a board") for word in sorted(wrong)]
    return found


def banned_in(source: str, *, may_print: bool = False, may_open: bool = True) -> list[tuple[int, str]]:
    """Lines and reasons, in the order of the file.

    may_print: only for the last words of a board that cannot start.
    may_open: false for the core, which never touches a file.
    """
    tree = ast.parse(source)
    return sorted(_names(tree, may_print=may_print, may_open=may_open) + _formats(tree) + _float_times(tree))
