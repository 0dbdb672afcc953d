"""Small wrong changes to a module's source, one at a time: what a slip of the hand would make.

A mutant keeps the source as it is written but for one expression: a comparison off by its edge,
a sum for a difference, a number one too high, `and` for `or`, a condition turned round, `min` for
`max`, a word cut. Texts of errors, annotations and docstrings are left alone: nothing follows
from them that a test ought to hold.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass

_COMPARISONS: dict[type[ast.cmpop], str] = {
    ast.Lt: "<=",
    ast.LtE: "<",
    ast.Gt: ">=",
    ast.GtE: ">",
    ast.Eq: "!=",
    ast.NotEq: "==",
    ast.In: "not in",
    ast.NotIn: "in",
    ast.Is: "is not",
    ast.IsNot: "is",
}
_SUMS: dict[type[ast.operator], str] = {
    ast.Add: "-",
    ast.Sub: "+",
    ast.Mult: "+",
    ast.Div: "*",
    ast.FloorDiv: "*",
    ast.Mod: "*",
}
_CALLS = {"min": "max", "max": "min", "any": "all", "all": "any", "sorted": "list"}


@dataclass(frozen=True)
class Mutant:
    """One change: where it stands, and what stands there instead."""

    module: str
    line: int
    column: int
    start: int
    end: int
    was: str
    becomes: str

    def __str__(self) -> str:
        was, becomes = (" ".join(text.split()) for text in (self.was, self.becomes))
        return f"{self.module}:{self.line}:{self.column}: {was}  ->  {becomes}"

    def applied(self, source: str) -> str:
        """Return the module's source with this change in it."""
        raw = source.encode()
        return (raw[: self.start] + self.becomes.encode() + raw[self.end :]).decode()


def mutants(module: str, source: str) -> list[Mutant]:
    """Return every mutant of a module's source, in the order of the source."""
    starts = [0]
    for line in source.encode().splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    found = []
    for node, becomes in _changes(ast.parse(source)):
        start = starts[node.lineno - 1] + node.col_offset
        end = starts[(node.end_lineno or node.lineno) - 1] + (node.end_col_offset or 0)
        was = source.encode()[start:end].decode()
        found.append(
            Mutant(module, node.lineno, node.col_offset + 1, start, end, was, f"({becomes})")
        )
    return sorted(set(found), key=lambda each: (each.start, each.end, each.becomes))


def _changes(tree: ast.AST) -> Iterator[tuple[ast.expr, str]]:
    """Yield an expression and what to write in its place, leaving out what is only text."""
    for node in _read(tree):
        match node:
            case ast.Compare(left=left, ops=[op], comparators=[right]) if type(op) in _COMPARISONS:
                sign = _COMPARISONS[type(op)]
                yield node, f"{ast.unparse(left)} {sign} {ast.unparse(right)}"
            case ast.Compare(left=left, ops=[*ops], comparators=[*others]) if len(ops) > 1:
                sign = _COMPARISONS[type(ops[-1])]
                first = ast.unparse(ast.Compare(left=left, ops=ops[:-1], comparators=others[:-1]))
                yield node, f"{first} {sign} {ast.unparse(others[-1])}"
            case ast.BinOp(left=left, op=op, right=right) if type(op) in _SUMS:
                if not (_text(left) or _text(right)):
                    yield node, f"({ast.unparse(left)}) {_SUMS[type(op)]} ({ast.unparse(right)})"
            case ast.BoolOp(op=op, values=values):
                sign = " or " if isinstance(op, ast.And) else " and "
                yield node, sign.join(f"({ast.unparse(value)})" for value in values)
            case ast.UnaryOp(op=ast.Not() | ast.USub(), operand=operand):
                yield node, ast.unparse(operand)
            case ast.IfExp(test=test, body=body, orelse=orelse):
                yield node, f"{ast.unparse(orelse)} if {ast.unparse(test)} else {ast.unparse(body)}"
            case ast.Constant(value=bool(value)):
                yield node, str(not value)
            case ast.Constant(value=int(value)):
                yield node, str(value + 1)
            case ast.Constant(value=str(value)) if value.strip():
                yield node, repr(value[:-1])
            case ast.Call(func=ast.Name(id=name), args=args, keywords=keywords) if name in _CALLS:
                if name != "sorted" or not keywords:
                    given = [*map(ast.unparse, args), *map(ast.unparse, keywords)]
                    yield node, f"{_CALLS[name]}({', '.join(given)})"


def _read(node: ast.AST) -> Iterator[ast.expr]:
    """Yield the expressions below a node that something follows from."""
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "type_params", "bases"):
            continue
        if name == "msg" and isinstance(node, ast.Assert):  # only text
            continue
        for child in value if isinstance(value, list) else [value]:
            if not isinstance(child, ast.AST) or _only_text(child):
                continue
            if isinstance(child, ast.expr):
                yield child
            yield from _read(child)


def _only_text(node: ast.AST) -> bool:
    match node:
        case ast.Expr(value=ast.Constant()) | ast.Raise() | ast.Import() | ast.ImportFrom():
            return True
        case ast.JoinedStr():  # before Python 3.12 nobody knows where in the source its parts stand
            return True
        case ast.Assign(targets=[ast.Name(id="__all__")]):
            return True
        case ast.Call(func=ast.Name(id=name)) if name.endswith("Error") or name == "TypeVar":
            return True
        case ast.If(test=ast.Name(id="TYPE_CHECKING")):
            return True
    return False


def _text(node: ast.expr) -> bool:
    return isinstance(node, ast.JoinedStr) or (
        isinstance(node, ast.Constant) and isinstance(node.value, str)
    )
