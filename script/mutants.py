"""The mutants of one module of calc: each a small wrong change to its source, by Cosmic Ray's operators.

Left out, since no test could tell them apart or any test would:
- a bit operator in place of an arithmetic one, which most numbers of calc refuse with a TypeError;
- `is` in place of `==` and the reverse, which for equal texts and small numbers hangs on the interpreter;
- `<` and its like in place of `==` beside a text or a name that stands for one, which hangs on the alphabet;
- changes inside annotations: types, and the sane ranges of constants, which are invented; decorators taken off or their
  arguments changed: they guard against misuse or save time;
- sources that don't compile, that run the same as the original, or that another mutant equals.
"""

import ast
from pathlib import Path
from typing import NamedTuple

from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.operators import (
    binary_operator_replacement,
    boolean_replacer,
    break_continue,
    comparison_operator_replacement,
    exception_replacer,
    number_replacer,
    unary_operator_replacement,
    zero_iteration_for_loop,
)

ARITHMETIC = {"Add", "Sub", "Mul", "Div", "FloorDiv", "Mod", "Pow"}
VALUES, IDENTITY = {"Eq", "NotEq", "Lt", "LtE", "Gt", "GtE"}, {"Is", "IsNot"}
SUMS = {"arith_expr", "term", "power"}


class Mutant(NamedTuple):
    """`was` and `becomes` are the changed lines; `nth` tells apart equal changes of equal lines in one function.

    `inside` is the function or method in whose body the change lies; empty where it lies outside of any body.
    """

    module: str
    function: str
    was: str
    becomes: str
    nth: int
    line: int
    inside: str
    source: str

    @property
    def key(self) -> tuple:
        return self.module, self.function, self.was, self.becomes, self.nth


def _operators():
    for operator in binary_operator_replacement.operators():
        if set(operator.__name__.split("_")[1:]) <= ARITHMETIC:
            yield operator()
    for operator in comparison_operator_replacement.operators():
        kinds = set(operator.__name__.split("_")[1:])
        if kinds <= VALUES or kinds <= IDENTITY:
            yield operator()
    for operator in unary_operator_replacement.operators():
        if "Invert" not in operator.__name__:
            yield operator()
    for module, names in (
        (boolean_replacer, "AddNot ReplaceTrueWithFalse ReplaceFalseWithTrue ReplaceAndWithOr ReplaceOrWithAnd"),
        (break_continue, "ReplaceBreakWithContinue ReplaceContinueWithBreak"),
        (exception_replacer, "ExceptionReplacer"),
        (number_replacer, "NumberReplacer"),
        (zero_iteration_for_loop, "ZeroIterationForLoop"),
    ):
        for name in names.split():
            yield getattr(module, name)()


def mutants(path: Path) -> list[Mutant]:
    """Every mutant of the module at `path`, in the order of its lines."""
    original = path.read_text(encoding="utf-8")
    seen, counts, found = {_meaning(original)}, {}, []
    functions, bodies = _functions(ast.parse(original)), _bodies(ast.parse(original))
    for source in _sources(original, _texts(path.parent)):
        try:
            meaning = _meaning(source)
        except SyntaxError:
            continue
        if meaning in seen:
            continue
        seen.add(meaning)
        line, was, becomes = _change(original, source)
        key = path.stem, functions.get(line, ""), was, becomes
        counts[key] = counts.get(key, 0) + 1
        found.append(Mutant(*key, counts[key], line, _inside(original, source, bodies.get(line, "")), source))
    return sorted(found, key=lambda mutant: mutant.line)


def _texts(folder: Path) -> set[str]:
    """The names that stand for a text in the modules of `folder`."""
    names = set()
    for path in folder.glob("*.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.Assign):
                pairs = [(node.targets[0], node.value)]
                if isinstance(node.targets[0], ast.Tuple):
                    pairs = zip(node.targets[0].elts, node.value.elts, strict=True)
                names |= {name.id for name, value in pairs if isinstance(getattr(value, "value", None), str)}
    return names


def _sources(original: str, texts: set[str]):
    """The source of each mutant. One tree serves all: each change is undone before the next."""
    tree = get_ast(original)
    nodes = list(ast_nodes(tree))
    for operator in _operators():
        for node in nodes:
            if _is_left_out(operator, node, texts):
                continue
            for index, _ in enumerate(list(operator.mutation_positions(node))):
                yield _changed(tree, node, operator, index)
    if tree.get_code() != original:
        raise RuntimeError("a change was not undone")


def _is_left_out(operator, node, texts: set[str]) -> bool:
    name = type(operator).__name__
    if name.startswith("ReplaceBinary"):
        return node.parent is None or node.parent.type not in SUMS
    sides = [child.get_last_leaf() for child in getattr(node, "children", ())]
    if name.startswith("ReplaceComparison") and any(side.type == "string" or side.value in texts for side in sides):
        return not set(name.split("_")[1:]) <= {"Eq", "NotEq"}
    return False


def _changed(tree, node, operator, index: int) -> str:
    touched = list(ast_nodes(node))
    values = [(each, each.value) for each in touched if hasattr(each, "value")]
    children = [(each, list(each.children)) for each in touched if hasattr(each, "children")]
    mutated = operator.mutate(node, index)
    if mutated is not node:
        siblings = node.parent.children
        children.append((node.parent, list(siblings)))
        siblings[siblings.index(node)] = mutated
    source = tree.get_code()
    for each, value in values:
        each.value = value
    for each, kept in children:
        each.children = kept
    return source


class _Bare(ast.NodeTransformer):
    """Takes annotations and decorators off."""

    def visit_FunctionDef(self, node):
        self.generic_visit(node)
        node.returns, node.decorator_list = None, []
        return node

    def visit_ClassDef(self, node):
        self.generic_visit(node)
        node.decorator_list = []
        return node

    def visit_arg(self, node):
        node.annotation = None
        return node

    def visit_AnnAssign(self, node):
        self.generic_visit(node)
        node.annotation = ast.Constant(None)
        return node


def _meaning(source: str) -> str:
    return ast.dump(_Bare().visit(ast.parse(source)))


def _functions(tree) -> dict[int, str]:
    """The function or class of each line, by its dotted name."""
    names = {}

    def name_lines(node, name):
        for child in ast.iter_child_nodes(node):
            inner = name
            if isinstance(child, ast.FunctionDef | ast.ClassDef):
                inner = f"{name}.{child.name}" if name else child.name
                first = min([child.lineno, *(each.lineno for each in child.decorator_list)])
                names.update(dict.fromkeys(range(first, child.end_lineno + 1), inner))
            name_lines(child, inner)

    name_lines(tree, "")
    return names


def _bodies(tree) -> dict[int, str]:
    """The outermost function or method of each line, by its dotted name."""
    holders = [("", tree), *((f"{each.name}.", each) for each in tree.body if isinstance(each, ast.ClassDef))]
    return {
        line: f"{within}{each.name}"
        for within, holder in holders
        for each in holder.body
        if isinstance(each, ast.FunctionDef)
        for line in range(each.lineno, each.end_lineno + 1)
    }


class _WithoutBody(ast.NodeTransformer):
    """Empties one function or method, by its dotted name."""

    def __init__(self, name: str):
        self._within, _, self._name = name.rpartition(".")
        self._here = ""

    def visit_ClassDef(self, node):
        self._here = node.name
        self.generic_visit(node)
        self._here = ""
        return node

    def visit_FunctionDef(self, node):
        if (self._here, node.name) == (self._within, self._name):
            node.body = []
        return node


def _inside(original: str, source: str, name: str) -> str:
    if not name:
        return ""
    before, after = (ast.dump(_WithoutBody(name).visit(ast.parse(text))) for text in (original, source))
    return name if before == after else ""


def _change(original: str, source: str) -> tuple[int, str, str]:
    """The first changed line's number, and the changed lines before and after, on one line each."""
    before, after = original.splitlines(), source.splitlines()
    first = next(number for number, pair in enumerate(zip(before, after, strict=False)) if pair[0] != pair[1])
    same = 0
    while same < min(len(before), len(after)) - first - 1 and before[-1 - same] == after[-1 - same]:
        same += 1
    shown = (" ".join(" ".join(lines[first : len(lines) - same]).split()) for lines in (before, after))
    return first + 1, *shown
