"""Owns a sample of small faults put into the statistics and physics, to see which tests notice.

Every mutant is one change of one place in one module: a comparison, an operator, a number, a
condition, a call of a twin function. It lives in memory alone; no file is touched. A process with
the libraries loaded forks for each mutant and runs the room's fast tests until one fails.

    PYTHONPATH=. python tests/benchmarks/mutants.py --sample 40 --seed 1
    PYTHONPATH=. python tests/benchmarks/mutants.py --module stats/beside.py \\
        tests/stats/test_beside.py

`mutants.md` holds what survived, and why.
"""

from __future__ import annotations

import argparse
import ast
import copy
import importlib.abc
import importlib.util
import itertools
import os
import random
import signal
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from types import ModuleType

HERE = Path(__file__).resolve().parents[2]
LONGEST_S = 900.0
PATIENCE = 4.0
"""Times what the tests take without a mutant, after which a mutant counts as killed."""
LIBRARIES = (
    *("pytest", "pandas", "statsmodels.api", "threadpoolctl", "cloudpickle"),
    *("scipy.stats", "scipy.optimize", "scipy.integrate", "scipy.sparse", "scipy.spatial"),
)

ROOMS = {
    "stats": (
        "tests/stats",
        "tests/rates/test_published.py",
        "tests/rates/test_outside.py",
        "tests/rates/test_contrast.py",
        "tests/decision/test_judge.py",
        "analysis/stats",
    ),
    "rates": (
        "tests/rates/test_exposure.py",
        "tests/rates/test_rods.py",
        "tests/rates/test_tackle_mix.py",
        "tests/rates/test_terms.py",
        "tests/rates/test_trip_rates.py",
        "tests/rates/test_shape_prior.py",
        "tests/rates/test_contrast.py",
        "tests/rates/test_published.py",
        "tests/review/test_step_weights.py",
        "analysis/rates",
    ),
    "decision": (
        "tests/decision/test_judge.py",
        "tests/decision/test_leads.py",
        "tests/decision/test_periods.py",
        "tests/show/test_period_sentences.py",
        "analysis/decision",
    ),
    "depth": (
        "tests/depth/test_published.py",
        "tests/depth/test_reasons.py",
        "tests/depth/test_invert.py",
        "tests/depth/test_properties.py",
        "tests/depth/test_clearance.py",
        "tests/depth/test_uncertainty.py",
        "tests/depth/test_accuracy.py",
        "analysis/depth",
    ),
}

SLOWER = {
    "calibrate.py": ("tests/depth/test_calibrate.py",),
    "trialfit.py": ("tests/depth/test_calibrate.py",),
}
"""What runs besides where a mutant is in one of these modules."""

COMPARED = {
    ast.Lt: (ast.LtE, ast.Gt),
    ast.LtE: (ast.Lt,),
    ast.Gt: (ast.GtE, ast.Lt),
    ast.GtE: (ast.Gt,),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
REPLACED = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
TWINS = {
    "maximum": "minimum",
    "minimum": "maximum",
    "max": "min",
    "min": "max",
    "argmax": "argmin",
    "argmin": "argmax",
    "all": "any",
    "any": "all",
    "mean": "median",
    "sin": "cos",
    "cos": "sin",
}


def changes(node: ast.AST) -> Iterator[ast.AST]:
    """Give every node that one change of a node would put in its place."""
    match node:
        case ast.Compare():
            for place, op in enumerate(node.ops):
                for other in COMPARED[type(op)]:
                    new = copy.deepcopy(node)
                    new.ops[place] = other()
                    yield new
        case ast.BinOp() if type(node.op) in REPLACED:
            yield ast.BinOp(node.left, REPLACED[type(node.op)](), node.right)
        case ast.BoolOp():
            yield ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), node.values)
        case ast.UnaryOp(op=ast.Not() | ast.USub() | ast.Invert()):
            yield node.operand
        case ast.Constant(value=bool(value)):
            yield ast.Constant(not value)
        case ast.Constant(value=int(value)):
            yield ast.Constant(value + 1)
        case ast.Constant(value=float(value)):
            yield ast.Constant(1.5 * value if value else 1.0)
        case ast.Attribute(attr=name) if name in TWINS:
            yield ast.Attribute(node.value, TWINS[name], node.ctx)
        case ast.IfExp():
            yield ast.IfExp(node.test, node.orelse, node.body)


def skipped(node: ast.AST) -> bool:
    """Tell of what has no bearing on a result: annotations, ``strict=``, what errors say."""
    if isinstance(node, ast.keyword):
        return node.arg in {"strict", "kw_only", "frozen", "dtype", "kind"}
    if isinstance(node, ast.Assign):
        return any(isinstance(name, ast.Name) and name.id == "msg" for name in node.targets)
    return isinstance(node, ast.Raise | ast.JoinedStr)


def mutants_of(path: Path) -> Iterator[tuple[int, str, str, ast.Module]]:
    """Give each mutant of a module: its line, what stood there, what stands there, its tree."""
    tree = ast.parse(path.read_text(encoding="utf-8"))

    def walk(node: ast.AST) -> Iterator[tuple[int, str, str, ast.Module]]:
        for field, old in ast.iter_fields(node):
            if field in {"annotation", "returns", "decorator_list"}:
                continue
            children = old if isinstance(old, list) else [old]
            for place, child in enumerate(children):
                if not isinstance(child, ast.AST) or skipped(child):
                    continue
                for new in changes(child):
                    ast.copy_location(new, child)
                    ast.fix_missing_locations(new)
                    if isinstance(old, list):
                        old[place] = new
                    else:
                        setattr(node, field, new)
                    line = getattr(child, "lineno", 0)
                    yield line, ast.unparse(child), ast.unparse(new), tree
                    if isinstance(old, list):
                        old[place] = child
                    else:
                        setattr(node, field, child)
                yield from walk(child)

    yield from walk(tree)


class Mutated(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Import one module from a tree in place of its file."""

    def __init__(self, name: str, path: Path, tree: ast.Module) -> None:
        self.name, self.path, self.tree = name, path, tree

    def find_spec(self, name: str, *_: object) -> object:
        if name != self.name:
            return None
        within = [str(self.path.parent)] if self.path.name == "__init__.py" else None
        return importlib.util.spec_from_file_location(
            name, self.path, loader=self, submodule_search_locations=within
        )

    def exec_module(self, module: ModuleType) -> None:
        exec(compile(self.tree, str(self.path), "exec"), module.__dict__)


def judged(tests: Sequence[str], path: Path, number: int | None, limit_s: float) -> str:
    """Fork, run tests with one mutant of a module (or none), and say how that ended."""
    started = time.monotonic()
    child = os.fork()
    if child == 0:
        os.setpgid(0, 0)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        os.dup2(1, 2)
        every = (tree for _, _, _, tree in mutants_of(path))
        found = ast.parse(path.read_text(encoding="utf-8"))
        if number is not None:
            found = next(itertools.islice(every, number, None))
        name = ".".join(path.relative_to(HERE).with_suffix("").parts).removesuffix(".__init__")
        sys.meta_path.insert(0, Mutated(name, path, found))
        import pytest

        chosen = [str(HERE / test) for test in (*tests, *SLOWER.get(path.name, ()))]
        options = ["-x", "-q", "-p", "no:cacheprovider", "-c", str(HERE / "pyproject.toml")]
        os._exit(int(pytest.main([*options, *chosen])))
    while time.monotonic() - started < limit_s:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            code = os.waitstatus_to_exitcode(status)
            return {0: "survived", 1: "killed", 2: "killed at import", 4: "killed at import"}.get(
                code, f"killed by exit {code}"
            )
        time.sleep(0.2)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return "killed by time"


Mutant = tuple[Path, int, int, str, str]


def mutants_in(*paths: Path) -> list[Mutant]:
    """Give all mutants of some modules: path, number, line, what stood and what stands there."""
    return [
        (path, number, line, old, new)
        for path in paths
        for number, (line, old, new, _) in enumerate(mutants_of(path))
    ]


def sampled(every: Sequence[Mutant], name: str, size: int, seed: int) -> list[Mutant]:
    """Draw some mutants, each as likely as the next."""
    drawn = random.Random(f"{name} {seed}").sample(every, min(size, len(every)))
    print(f"# {name}: {len(drawn)} of {len(every)} mutants, seed {seed}", flush=True)
    return sorted(drawn, key=lambda mutant: mutant[:2])


def judge(drawn: Sequence[Mutant], tests: Sequence[str]) -> None:
    """Print of each mutant whether some tests notice it."""
    started = time.monotonic()
    if judged(tests, drawn[0][0], None, LONGEST_S) != "survived":
        msg = f"these tests fail without any mutant: {' '.join(tests)}"
        raise SystemExit(msg)
    limit_s = PATIENCE * (time.monotonic() - started)
    print(f"# {limit_s / PATIENCE:.0f} s without a mutant", flush=True)
    for path, number, line, old, new in drawn:
        how = judged(tests, path, number, LONGEST_S if path.name in SLOWER else limit_s)
        print(how, path.relative_to(HERE), line, old, new, sep="\t", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rooms", nargs="+", default=list(ROOMS), choices=list(ROOMS))
    parser.add_argument(
        "--module",
        nargs="+",
        help="one module, such as stats/cells.py, and tests, in place of rooms",
    )
    parser.add_argument("--sample", type=int, default=40, help="mutants a room, or of the module")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    os.chdir(HERE)
    for library in LIBRARIES:
        importlib.import_module(library)
    if asked.module:
        module, *tests = asked.module
        every = mutants_in(HERE / "analysis" / module)
        judge(sampled(every, module, asked.sample, asked.seed), tests)
        return
    for room in asked.rooms:
        every = mutants_in(*sorted((HERE / "analysis" / room).rglob("*.py")))
        judge(sampled(every, room, asked.sample, asked.seed), ROOMS[room])


if __name__ == "__main__":
    main()
