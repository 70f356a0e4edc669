"""The loops over lanes as C: the same text, turned from plain Python by a small translator, and compiled.

    python benchmarks/c_text.py [--drag steady] [--decay] [--compiler gcc]     prints the C text

The product has no C; this is what its kernel is compared with. Only what the loops use is translated: loops
over ranges, sums, products, roots, choices, calls of each other. Names of places in the array become numbers.
"""

from __future__ import annotations

import argparse
import ast
import ctypes
import inspect
import subprocess
import tempfile
from pathlib import Path
from types import FunctionType

import numpy as np

from shotwright.flight.lanes.build import loops
from shotwright.flight.lanes.generate import stages_text, sum_text

OPTIONS = ("-O3", "-march=native", "-ffast-math", "-std=c11", "-shared", "-fPIC")

_HEAD = """\
#include <math.h>
#define MAY_INLINE static inline __attribute__((always_inline))
MAY_INLINE double least(double a, double b) { return a < b ? a : b; }
MAY_INLINE double most(double a, double b) { return a > b ? a : b; }
MAY_INLINE long least_of(long a, long b) { return a < b ? a : b; }
MAY_INLINE long most_of(long a, long b) { return a > b ? a : b; }
"""
_INLINE = ("rates", "pull", "steady", "falling", "septic")
_POINTERS = {"Numbers": "double", "NDArray[np.int64]": "long", "NDArray[np.uint8]": "unsigned char"}


def c_text(drag: str, *, decay: bool) -> str:
    """Return the C text of one kind of the loops; the entry is ``fly_lanes``."""
    made = {
        node.name: node for node in ast.parse(stages_text(drag, decay=decay) + sum_text(decay=decay)).body
    }
    found = loops(drag, decay=decay)
    trees = {
        name: made[name] if name in made else ast.parse(inspect.getsource(function)).body[0]
        for name, function in found.items()
    }
    returns = {name: _returned(tree) for name, tree in trees.items()}
    return _HEAD + "\n".join(_Function(name, trees[name], found[name], returns).text() for name in trees)


def compile_c(drag: str, *, decay: bool, compiler: str = "gcc", options: tuple[str, ...] = OPTIONS):
    """Compile the C text and return ``fly_lanes`` as a function of the same arguments as the product's."""
    folder = Path(tempfile.mkdtemp())
    (folder / "lanes.c").write_text(c_text(drag, decay=decay))
    library = folder / "lanes.so"
    subprocess.run([compiler, *options, str(folder / "lanes.c"), "-o", str(library), "-lm"], check=True)
    entry = ctypes.CDLL(str(library)).fly_lanes
    entry.restype = None

    def fly_lanes(*arguments) -> None:
        entry(
            *(
                ctypes.c_void_p(a.ctypes.data) if isinstance(a, np.ndarray) else ctypes.c_long(a)
                for a in arguments
            )
        )

    return fly_lanes


def _returned(tree: ast.FunctionDef) -> int | str:
    """Number of values that a function returns as a tuple, or the C type of a single one."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Return) and node.value is not None:
            return len(node.value.elts) if isinstance(node.value, ast.Tuple) else "long"
    return "void"


class _Function:
    """One function on its way to C."""

    def __init__(self, name: str, tree: ast.FunctionDef, function: FunctionType, returns: dict) -> None:
        self.name, self.tree, self.returns = name, tree, returns
        self.values = function.__globals__
        self.types: dict[str, str] = {}
        self.spare = 0

    def text(self) -> str:
        parameters = []
        for argument in self.tree.args.args:
            kind = ast.unparse(argument.annotation) if argument.annotation else None
            kind = kind or ("Numbers" if argument.arg == "ws" else "float")
            if kind in _POINTERS:
                self.types[argument.arg] = f"{_POINTERS[kind]} *"
                parameters.append(f"{_POINTERS[kind]} *restrict {argument.arg}")
            else:
                self.types[argument.arg] = {"int": "long", "float": "double"}[kind]
                parameters.append(f"{self.types[argument.arg]} {argument.arg}")
        back = self.returns[self.name]
        if isinstance(back, int):
            parameters += [f"double *restrict back{k}" for k in range(back)]
        body = self.block(self.tree.body)
        local = [f"{kind} {name};" for name, kind in self.types.items() if not name.startswith(" ")]
        given = {argument.arg for argument in self.tree.args.args}
        local = [f"{kind} {name};" for name, kind in self.types.items() if name not in given]
        how = "MAY_INLINE" if self.name in _INLINE else ("" if self.name == "fly_lanes" else "static")
        back = "void" if isinstance(back, int) else back
        return f"{how} {back} {self.name}({', '.join(parameters)}) {{\n{' '.join(local)}\n{body}\n}}\n"

    def block(self, statements) -> str:
        return "\n".join(self.statement(one) for one in statements)

    def statement(self, node) -> str:
        match node:
            case ast.Expr(value=ast.Constant()):
                return ""
            case ast.Expr(value=call):
                return f"{self.expression(call)};"
            case ast.Assign(targets=[ast.Tuple(elts=targets)], value=ast.Tuple(elts=values)):
                return self.together(targets, values)
            case ast.Assign(targets=[ast.Tuple(elts=targets)], value=ast.Call() as call):
                names = [self.declared(target, "double") for target in targets]
                inputs = [self.expression(one) for one in call.args]
                return f"{call.func.id}({', '.join(inputs + [f'&{name}' for name in names])});"
            case ast.Assign(targets=[target], value=value):
                text = self.expression(value)
                return f"{self.declared(target, self.kind(value))} = {text};"
            case ast.AugAssign(target=target, op=op, value=value):
                return f"{self.expression(target)} {_OPERATORS[type(op)]}= {self.expression(value)};"
            case ast.For(target=ast.Name(id=name), iter=ast.Call(args=bounds), body=body):
                self.types[name] = "long"
                low, high = (["0"] if len(bounds) == 1 else []) + [self.expression(one) for one in bounds]
                return f"for ({name} = {low}; {name} < {high}; {name}++) {{\n{self.block(body)}\n}}"
            case ast.While(test=test, body=body):
                return f"while ({self.expression(test)}) {{\n{self.block(body)}\n}}"
            case ast.If(test=ast.Name(id=("DECAY" | "BENT") as name), body=body, orelse=orelse):
                return self.block(body if self.values[name] else orelse)
            case ast.If(test=ast.UnaryOp(op=ast.Not(), operand=ast.Name(id="DECAY")), body=body):
                return "" if self.values["DECAY"] else self.block(body)
            case ast.If(test=test, body=body, orelse=orelse):
                other = f" else {{\n{self.block(orelse)}\n}}" if orelse else ""
                return f"if ({self.expression(test)}) {{\n{self.block(body)}\n}}{other}"
            case ast.Return(value=ast.Tuple(elts=values)):
                return " ".join(f"*back{k} = {self.expression(one)};" for k, one in enumerate(values))
            case ast.Return(value=value):
                return f"return {self.expression(value)};"
        raise ValueError(ast.dump(node))

    def together(self, targets, values) -> str:
        """Assign several at once: all are read before one is written."""
        kinds = [self.kind(one) for one in values]
        texts = [self.expression(one) for one in values]
        names = [self.declared(target, kind) for target, kind in zip(targets, kinds, strict=True)]
        spare = [f"spare{self.spare + k}" for k in range(len(names))]
        self.spare += len(names)
        first = [f"{kind} {s} = {text};" for kind, s, text in zip(kinds, spare, texts, strict=True)]
        return " ".join(first + [f"{name} = {s};" for name, s in zip(names, spare, strict=True)])

    def declared(self, target, kind: str) -> str:
        if isinstance(target, ast.Name):
            self.types.setdefault(target.id, kind)
            return target.id
        return self.expression(target)

    def kind(self, node) -> str:
        """C type of an expression."""
        match node:
            case ast.Constant(value=value):
                return "long" if isinstance(value, int) else "double"
            case ast.Name(id=name):
                known = self.types.get(name)
                return known or ("long" if isinstance(self.values[name], int) else "double")
            case ast.Compare() | ast.BoolOp() | ast.UnaryOp(op=ast.Not()):
                return "long"
            case ast.BinOp(left=left, op=op, right=right):
                both = {self.kind(left), self.kind(right)}
                return "double" if isinstance(op, ast.Div) or "double" in both else "long"
            case ast.UnaryOp(operand=operand):
                return self.kind(operand)
            case ast.IfExp(body=body, orelse=orelse):
                return "double" if "double" in (self.kind(body), self.kind(orelse)) else "long"
            case ast.Subscript(value=ast.Name(id=name)):
                return "double" if self.types[name].startswith("double") else "long"
            case ast.Call(func=ast.Name(id=("min" | "max")), args=args):
                return "double" if "double" in {self.kind(one) for one in args} else "long"
            case ast.Call(func=ast.Name(id=name)):
                return "long" if name == "int" or self.returns.get(name) == "long" else "double"
        return "double"

    def expression(self, node) -> str:
        match node:
            case ast.Constant(value=value):
                return repr(value)
            case ast.Name(id=name):
                return name if name in self.types else repr(self.values[name] + 0)
            case ast.Attribute(attr="pi"):
                return repr(np.pi)
            case ast.BinOp(left=left, op=op, right=right):
                return f"({self.expression(left)} {_OPERATORS[type(op)]} {self.expression(right)})"
            case ast.UnaryOp(op=op, operand=operand):
                return f"({'!' if isinstance(op, ast.Not) else '-'}{self.expression(operand)})"
            case ast.Compare(left=left, ops=[op], comparators=[right]):
                return f"({self.expression(left)} {_OPERATORS[type(op)]} {self.expression(right)})"
            case ast.BoolOp(op=op, values=values):
                sign = " && " if isinstance(op, ast.And) else " || "
                return f"({sign.join(self.expression(one) for one in values)})"
            case ast.IfExp(test=ast.Name(id=("DECAY" | "BENT") as name), body=body, orelse=orelse):
                return self.expression(body if self.values[name] else orelse)
            case ast.IfExp(test=test, body=body, orelse=orelse):
                parts = (self.expression(one) for one in (test, body, orelse))
                return "({} ? {} : {})".format(*parts)
            case ast.Subscript(value=ast.Name(id=name), slice=at):
                return f"{name}[{self.expression(at)}]"
            case ast.Call(func=ast.Attribute(attr="sqrt"), args=[value]):
                return f"sqrt({self.expression(value)})"
            case ast.Call(func=ast.Name(id=("min" | "max") as name), args=args):
                chosen = ("least" if name == "min" else "most") + ("_of" if self.kind(node) == "long" else "")
                text = self.expression(args[0])
                for one in args[1:]:
                    text = f"{chosen}({text}, {self.expression(one)})"
                return text
            case ast.Call(func=ast.Name(id="abs"), args=[value]):
                return f"fabs({self.expression(value)})"
            case ast.Call(func=ast.Name(id="int"), args=[value]):
                return f"((long) {self.expression(value)})"
            case ast.Call(func=ast.Name(id=name), args=args):
                return f"{name}({', '.join(self.expression(one) for one in args)})"
        raise ValueError(ast.dump(node))


_OPERATORS = {
    ast.Add: "+",
    ast.Sub: "-",
    ast.Mult: "*",
    ast.Div: "/",
    ast.BitAnd: "&",
    ast.BitOr: "|",
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
    ast.Eq: "==",
    ast.NotEq: "!=",
}


def main() -> None:
    """Print the text."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--drag", choices=("steady", "falling"), default="steady")
    parser.add_argument("--decay", action="store_true")
    options = parser.parse_args()
    print(c_text(options.drag, decay=options.decay))


if __name__ == "__main__":
    main()
