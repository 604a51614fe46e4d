"""The changes that a module's rules can be tried with, one place at a time."""

import ast
from collections import Counter
from dataclasses import dataclass

SWAPS = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.And: ast.Or,
    ast.Or: ast.And,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}


@dataclass(frozen=True, slots=True)
class Change:
    """One change of a module, and by what it is known."""

    nth: int
    line: int
    text: str  # of the line where it stands
    what: str
    which: int  # of those in the module whose text and what are the same, from 1


class Changer(ast.NodeTransformer):
    """Notes what can be changed, with its line, and changes the nth of it."""

    def __init__(self, nth=None):
        self.nth, self.found = nth, []

    def is_it(self, node, what):
        """Note a thing that can be changed; say whether it is the one."""
        self.found.append((node.lineno, what))
        return len(self.found) - 1 == self.nth

    def visit_FunctionDef(self, node):
        """Leave defaults and annotations as they are: they are told, not reckoned."""
        node.body = [self.visit(each) for each in node.body]
        return node

    def visit_ClassDef(self, node):
        """Leave decorators and defaults of fields as they are: they too are told."""
        node.body = [
            each if isinstance(each, ast.AnnAssign) else self.visit(each) for each in node.body
        ]
        return node

    def visit_Compare(self, node):
        """Turn each comparison."""
        self.generic_visit(node)
        for place, op in enumerate(node.ops):
            other = SWAPS.get(type(op))
            if other and self.is_it(node, f"{type(op).__name__} to {other.__name__}"):
                node.ops[place] = other()
        return node

    def visit_BoolOp(self, node):
        """Turn and to or, or to and."""
        self.generic_visit(node)
        if self.is_it(node, "and / or"):
            node.op = SWAPS[type(node.op)]()
        return node

    def visit_BinOp(self, node):
        """Turn plus to minus, times to divided by."""
        self.generic_visit(node)
        other = SWAPS.get(type(node.op))
        if other and self.is_it(node, f"{type(node.op).__name__} to {other.__name__}"):
            node.op = other()
        return node

    def visit_UnaryOp(self, node):
        """Take a not away."""
        self.generic_visit(node)
        is_not = isinstance(node.op, ast.Not)
        return node.operand if is_not and self.is_it(node, "not taken away") else node

    def visit_Constant(self, node):
        """Add one to a whole number, turn true to false."""
        if isinstance(node.value, bool) and self.is_it(node, f"{node.value} turned"):
            return ast.copy_location(ast.Constant(not node.value), node)
        is_whole = type(node.value) is int
        if is_whole and self.is_it(node, f"{node.value} to {node.value + 1}"):
            return ast.copy_location(ast.Constant(node.value + 1), node)
        return node


def changes_of(source):
    """Return the changes of a module, in the order in which they stand."""
    lines, seen, changer = source.splitlines(), Counter(), Changer()
    changer.visit(ast.parse(source))
    changes = []
    for nth, (line, what) in enumerate(changer.found):
        text = lines[line - 1].strip()
        seen[text, what] += 1
        changes.append(Change(nth, line, text, what, seen[text, what]))
    return changes


def changed(source, change):
    """Return a module with one change made."""
    return ast.fix_missing_locations(Changer(change.nth).visit(ast.parse(source)))
