"""Every small fault that can be put into a file of the product."""

from __future__ import annotations

import ast
import difflib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
LEFT_OUT = re.compile(r"/migrations/|/models/|/admin\.py|/apps\.py|/urls\.py|/settings\.py|/demo")
"""Declarations, and what only sets the demo shop up."""

COMPARISONS: dict[type[ast.cmpop], tuple[str, ...]] = {
    ast.Lt: ("<=", ">="),
    ast.LtE: ("<", ">"),
    ast.Gt: (">=", "<="),
    ast.GtE: (">", "<"),
    ast.Eq: ("!=",),
    ast.NotEq: ("==",),
    ast.In: ("not in",),
    ast.NotIn: ("in",),
    ast.Is: ("is not",),
    ast.IsNot: ("is",),
}
ARITHMETIC: dict[type[ast.operator], str] = {
    ast.Add: "-",
    ast.Sub: "+",
    ast.Mult: "/",
    ast.Div: "*",
    ast.FloorDiv: "*",
    ast.BitOr: "&",
    ast.BitAnd: "|",
}
TWINS = {"min": "max", "max": "min", "any": "all", "all": "any"}
WORDS = {"_", "gettext", "gettext_lazy", "ngettext", "ngettext_lazy", "pgettext", "format_html"}


SIZES = {"max_length", "max_digits", "decimal_places"}
"""How wide a column is: a declaration."""


@dataclass(frozen=True)
class Mutant:
    """Source bytes ``begin`` to ``end`` of a file become ``text``.

    ``lines``: those of the statement round it, or of its head. ``names``: what a statement outside
    every function gives a name to; it runs once, at import, so that no test is seen to run it.
    """

    path: Path
    begin: int
    end: int
    text: str
    lines: range
    names: tuple[str, ...] = ()

    def applied(self, source: bytes) -> bytes:
        return source[: self.begin] + self.text.encode() + source[self.end :]

    def diff(self) -> str:
        source = (ROOT / self.path).read_bytes()
        before, after = (text.decode().splitlines() for text in (source, self.applied(source)))
        named = str(self.path)
        return "\n".join(difflib.unified_diff(before, after, named, named, lineterm="", n=1))


class Sites(ast.NodeVisitor):
    """Every mutant of one file."""

    def __init__(self, path: Path) -> None:
        source = (ROOT / path).read_bytes()
        self.path = path
        self.mutants: list[Mutant] = []
        self._lines = range(0)
        self._names: tuple[str, ...] = ()
        self._starts = [0]
        for line in source.splitlines(keepends=True):
            self._starts.append(self._starts[-1] + len(line))
        for statement in ast.parse(source).body:
            self._names = tuple(_named(statement))
            self.visit(statement)

    def visit(self, node: ast.AST) -> None:
        before = self._lines
        if isinstance(node, ast.stmt):
            body = getattr(node, "body", None)
            last = body[0].lineno - 1 if body else node.end_lineno or node.lineno
            self._lines = range(node.lineno, max(last, node.lineno) + 1)
        super().visit(node)
        self._lines = before

    def _add(self, node: ast.expr | ast.stmt, *texts: str) -> None:
        begin = self._starts[node.lineno - 1] + node.col_offset
        end = self._starts[(node.end_lineno or 0) - 1] + (node.end_col_offset or 0)
        self.mutants += [
            Mutant(self.path, begin, end, text, self._lines, self._names) for text in texts
        ]

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        outside, self._names = self._names, ()
        for part in node.body:
            self.visit(part)
        self._lines = range(node.lineno, (node.end_lineno or 0) + 1)
        for default in [*node.args.defaults, *filter(None, node.args.kw_defaults)]:
            self.visit(default)
        self._names = outside

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        for part in node.body:
            if isinstance(part, (ast.FunctionDef, ast.ClassDef)):
                self.visit(part)  # fields are declarations

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        """Python tells no true places inside a formatted string."""

    def visit_Assert(self, node: ast.Assert) -> None:
        """It narrows a type."""

    def visit_Compare(self, node: ast.Compare) -> None:
        if len(node.ops) == 1:
            left, right = ast.unparse(node.left), ast.unparse(node.comparators[0])
            for sign in COMPARISONS[type(node.ops[0])]:
                self._add(node, f"(({left}) {sign} ({right}))")
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        sign = " or " if isinstance(node.op, ast.And) else " and "
        self._add(node, "(" + sign.join(f"({ast.unparse(part)})" for part in node.values) + ")")
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        if isinstance(node.op, (ast.Not, ast.USub)):
            self._add(node, f"({ast.unparse(node.operand)})")
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        sign = ARITHMETIC.get(type(node.op))
        if sign and not any(_is_text(part) for part in (node.left, node.right)):
            self._add(node, f"(({ast.unparse(node.left)}) {sign} ({ast.unparse(node.right)}))")
        self.generic_visit(node)

    def visit_IfExp(self, node: ast.IfExp) -> None:
        test, body, other = map(ast.unparse, (node.test, node.body, node.orelse))
        self._add(node, f"(({other}) if ({test}) else ({body}))")
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        if isinstance(node.value, bool):
            self._add(node, str(not node.value))
        elif isinstance(node.value, (int, float)):
            self._add(node, repr(node.value + 1))

    def visit_Call(self, node: ast.Call) -> None:
        named = node.func.id if isinstance(node.func, ast.Name) else ""
        if named in WORDS:
            return
        if named in TWINS:
            self._add(node.func, TWINS[named])
            self.generic_visit(node)
            return  # the order of what is compared changes nothing
        first, second = (*node.args, None, None)[:2]
        if first and second and not isinstance(first, ast.Starred):
            texts = [ast.unparse(first), ast.unparse(second)]
            if texts[0] != texts[1] and not isinstance(second, ast.Starred):
                node_text = ast.unparse(
                    ast.Call(node.func, [second, first, *node.args[2:]], node.keywords)
                )
                self._add(node, node_text)
        self.generic_visit(node)

    def visit_keyword(self, node: ast.keyword) -> None:
        if node.arg not in SIZES:
            self.visit(node.value)

    def visit_Expr(self, node: ast.Expr) -> None:
        if isinstance(node.value, ast.Call):
            self._add(node, "pass")
            self.generic_visit(node)

    def visit_Raise(self, node: ast.Raise) -> None:
        self._add(node, "pass")

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        self._add(node, "pass")
        self.generic_visit(node)

    def visit_Assign(self, node: ast.Assign) -> None:
        if not isinstance(node.targets[0], (ast.Name, ast.Tuple)):
            self._add(node, "pass")
        self.generic_visit(node)

    def visit_Continue(self, node: ast.Continue) -> None:
        self._add(node, "pass")

    def visit_Return(self, node: ast.Return) -> None:
        if node.value is not None and not isinstance(node.value, ast.Constant):
            self._add(node, "return None")
        self.generic_visit(node)


def _is_text(node: ast.expr) -> bool:
    is_string = isinstance(node, ast.Constant) and isinstance(node.value, (str, bytes))
    return is_string or isinstance(node, ast.JoinedStr)


def _named(statement: ast.stmt) -> Iterator[str]:
    for node in ast.walk(statement) if isinstance(statement, (ast.Assign, ast.AnnAssign)) else ():
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            yield node.id


def mutants_of(paths: Sequence[str]) -> Iterator[Mutant]:
    """Every mutant of the product's files at or under these paths, in a fixed order."""
    for top in paths:
        files = [ROOT / top] if top.endswith(".py") else sorted((ROOT / top).rglob("*.py"))
        for path in (file.relative_to(ROOT) for file in files):
            if not LEFT_OUT.search(f"/{path}"):
                yield from Sites(path).mutants
