"""The arithmetic limit: how fast this processor multiplies and adds, and how much of it a flight needs."""

from __future__ import annotations

import ast
import ctypes
import inspect
import subprocess
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from anchors.workload import Case, Launches
from shotwright.flight.lanes import fly as lanes
from shotwright.flight.lanes import layout
from shotwright.flight.lanes.build import loops
from shotwright.flight.lanes.generate import stages_text, sum_text
from shotwright.flight.lanes.kinds import lane_laws

OPTIONS = ("-O3", "-march=native", "-std=gnu11", "-shared", "-fPIC")
_PEAK = """
#ifdef __AVX512F__
typedef double lanes __attribute__((vector_size(64)));
#else
typedef double lanes __attribute__((vector_size(32)));
#endif
enum { CHAINS = 12 };
double multiply_add(long rounds, double start) {
    lanes v[CHAINS], by = {0}, plus = {0};
    for (int k = 0; k < CHAINS; k++) v[k] = plus + start + k;
    by += 0.999999; plus += 1e-6;
    for (long i = 0; i < rounds; i++)
        for (int k = 0; k < CHAINS; k++) v[k] = v[k] * by + plus;
    double sum = 0;
    for (int k = 0; k < CHAINS; k++) for (unsigned j = 0; j < sizeof(lanes) / 8; j++) sum += v[k][j];
    return sum;
}
long flops_a_round(void) { return 2 * CHAINS * (long) (sizeof(lanes) / 8); }
"""


def peak(compiler: str) -> Callable[[], float]:
    """Return a function that measures multiplications and additions a second of CPU time, on one core."""
    folder = Path(tempfile.mkdtemp())
    (folder / "peak.c").write_text(_PEAK)
    library = folder / "peak.so"
    subprocess.run([compiler, *OPTIONS, str(folder / "peak.c"), "-o", str(library)], check=True)
    text = ctypes.CDLL(str(library))
    text.multiply_add.restype, text.multiply_add.argtypes = ctypes.c_double, (ctypes.c_long, ctypes.c_double)
    rounds = 2_000_000

    def measure() -> float:
        started = time.process_time()
        text.multiply_add(rounds, 0.5)
        return rounds * text.flops_a_round() / (time.process_time() - started)

    return measure


def operations(case: Case, launches: Launches, accuracy: float) -> tuple[float, float]:
    """Steps and arithmetic operations a flight, counted: the plain loops are run, their text is read.

    Sums, differences, products, quotients and roots count one each; choices, comparisons and copies nothing.
    """
    laws = lane_laws(case.model.drag, case.model.lift)
    decay = laws.drag != "steady" or case.model.ball.spin_decay > 0
    found = loops(laws.drag, decay=decay)
    calls = dict.fromkeys(("stages", "prepare", "take_axes"), 0)
    fly = found["fly_lanes"]

    def counted(name: str, inner: Callable[..., None]) -> Callable[..., None]:
        def count(*arguments: object) -> None:
            calls[name] += 1
            inner(*arguments)

        return count

    for holder, name in ((fly, "stages"), (fly, "prepare"), (found["settle"], "take_axes")):
        holder.__globals__[name] = counted(name, holder.__globals__[name])
    kept = lanes.compiled_lanes
    lanes.compiled_lanes = lambda *_arguments, **_options: fly
    try:
        case.fly(launches, accuracy)
    finally:
        lanes.compiled_lanes = kept
    n = len(launches.velocity)
    steps = calls["stages"] * layout.LANES / n  # a few lanes run empty at the end
    text = _Text(found, stages_text(laws.drag, decay=decay) + sum_text(decay=decay), decay)
    step = sum(text.flops(name) for name in ("begin_step", "stages", "sum_up", "end_step", "look"))
    ends = sum(text.flops(name) for name in ("prepare", "take_axes", "top", "cross", "report"))
    return steps, (steps * step + ends * calls["take_axes"] * layout.LANES / n)


class _Text:
    """The loops' text, and the arithmetic of each function for one lane."""

    def __init__(self, found: dict, generated: str, decay: bool) -> None:
        self.found, self.decay = found, decay
        self.trees = {node.name: node for node in ast.parse(generated).body}

    def flops(self, name: str) -> int:
        """Operations of one call, for one lane."""
        tree = self.trees.get(name) or ast.parse(inspect.getsource(self.found[name])).body[0]
        return sum(self._of(one, self.found[name].__globals__) for one in tree.body)

    def _of(self, node: ast.AST, names: dict) -> int:
        if isinstance(node, ast.If | ast.IfExp) and isinstance(node.test, ast.Name):
            taken = node.body if names.get(node.test.id) else node.orelse
            return sum(self._of(one, names) for one in (taken if isinstance(taken, list) else [taken]))
        inner = sum(self._of(one, names) for one in ast.iter_child_nodes(node))
        if isinstance(node, ast.For):
            bound = eval(ast.unparse(node.iter.args[-1]), names) if len(node.iter.args) == 1 else 1
            return inner * (1 if bound == layout.LANES else bound)
        if isinstance(node, ast.Subscript):
            return self._of(node.value, names)  # places in the array are known beforehand
        if isinstance(node, ast.BinOp):
            return inner + isinstance(node.op, ast.Add | ast.Sub | ast.Mult | ast.Div)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            return inner + (node.func.attr == "sqrt")
        if isinstance(node, ast.Call) and node.func.id in self.found:
            return inner + self.flops(node.func.id)
        return inner
