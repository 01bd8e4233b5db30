"""Mutation testing of scoring and statistics: change one thing, do the tests see it?  Run by hand.

    nice -n 19 python tests/soak/mutants.py scoring/games.py study/intervals.py

Each mutant is one change of a module: a comparison, an operator, a number, an ``and``, a condition turned round.
Kernels are made as plain Python and held to the ``check`` of a test file (``PLAIN``).  A child process holds each
mutant; no file is touched.  The tests of ``TESTS`` run until the first that fails.  Survivors are printed with
their line; those of ``EXPLAINED`` change nothing that anybody can see, and say why.  Exit code 1: a survivor
that nobody explained.
"""

import argparse
import ast
import copy
import importlib
import importlib.util
import os
import random
import signal
import sys
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from types import CodeType, SimpleNamespace

import pytest

ROOT = Path(__file__).parents[2]
TESTS = {
    "scoring/games.py": ["tests/unit/test_scoring_games.py", "tests/contract/test_scoring_face.py"],
    "scoring/counts.py": ["tests/unit/test_scoring_games.py", "tests/reference/test_scoring_reference.py"],
    "scoring/distribution.py": [
        "tests/unit/test_scoring_distribution.py", "tests/property/test_scoring_properties.py",
    ],
    "study/intervals.py": [
        "tests/property/test_study_intervals.py",
    ],
    "study/equivalence.py": [
        "tests/unit/test_study_equivalence_exact.py", "tests/unit/test_study_equivalence.py",
        "--deselect=tests/unit/test_study_equivalence.py::test_published_examples_and_the_handicap_study_agree",
    ],
}  # fmt: skip
PLAIN = {
    "scoring/_kernel.py": "tests/unit/test_scoring_kernel_plain.py",
    "lane/_kernel.py": "tests/unit/test_lane_kernel_plain.py",
    "pins/_kernel.py": "tests/unit/test_pins_kernel_plain.py",
    "ball/_kernel.py": "tests/unit/test_ball_kernel_plain.py",
    "play/_kernel.py": "tests/unit/test_play_kernel_plain.py",
}
ONLY = {"play/_kernel.py": ("_hold", "_react", "_go_over", "_where", "_second", "_copy_film")}
EXPLAINED = {
    ("study/intervals.py", "RESAMPLES = 1999 | 1999 to 2000"): (
        "one more resample moves an interval by less than its own luck; the bytes tests see it"
    ),
    (
        "scoring/_kernel.py",
        "SLOTS = 21 | 21 to 22",
    ): "a name for readers: no line of the module uses it",
    (
        "scoring/_kernel.py",
        "RACKS = 12 | 12 to 13",
    ): "a name for readers: no line of the module uses it",
    ("scoring/_kernel.py", "SCORES = 301 | 301 to 302"): (
        "only a guard here: nine frames add up to 240 at most, so the tenth's 60 always fit"
    ),
    (
        "scoring/_kernel.py",
        "WORK_ROWS = 10 | 10 to 11",
    ): "scratch for callers; one row more is unused",
    ("scoring/_kernel.py", "top = 0 | 0 to 1"): "looks at one score more, whose chance is 0",
    (
        "scoring/_kernel.py",
        "top = 30 * (frame + 1) | 30 to 31",
    ): "looks at more scores, whose chance is 0",
    (
        "scoring/_kernel.py",
        "work[:4] = 0.0 | 4 to 5",
    ): "clears a row that is cleared again before use",
    ("scoring/_kernel.py", "for step in range(min(61, SCORES - score)): | operator to Add"): (
        "only a guard: nine frames add up to 240 at most, so the tenth's 60 always fit"
    ),
    ("scoring/_kernel.py", "for score in range(top + 1): | operator to Sub"): (
        "in the tenth frame only, where top is 270 and no score above 240"
    ),
    (
        "scoring/_kernel.py",
        "top = 30 * (frame + 1) | 1 to 2",
    ): "looks at more scores, whose chance is 0",
    ("scoring/_kernel.py", "for score in range(top + 1): | 1 to 2"): (
        "looks at one score more, whose chance is 0"
    ),
    ("scoring/_kernel.py", "opens[:31] = 0.0 | 31 to 32"): "clears one place more than is read",
    ("scoring/_kernel.py", "spares[:31] = 0.0 | 31 to 32"): "clears one place more than is read",
    ("scoring/_kernel.py", "steps[:61] = 0.0 | 61 to 62"): "clears one place more than is read",
    ("lane/_kernel.py", "near = start + step * min(max(j, 1), 39) | 39 to 40"): (
        "only a guard: no ball on the lane is beyond 39.5 boards, and the film's outermost columns are equal"
    ),
    **{
        ("pins/_kernel.py", f"{line} | {change}"): (
            "takes the head pin's bit along, which the shift to the right drops"
        )
        for line, change in (
            ("| ((mask & 0b0000000010) << 1) | ((mask & 0b0000000100) >> 1)", "4 to 5"),
            ("| ((mask & 0b0000001000) << 2) | ((mask & 0b0000100000) >> 2)", "32 to 33"),
            ("| ((mask & 0b0001000000) << 3) | ((mask & 0b1000000000) >> 3)", "512 to 513"),
            ("| ((mask & 0b0010000000) << 1) | ((mask & 0b0100000000) >> 1)", "256 to 257"),
        )
    },
    ("pins/_kernel.py", "if away > FINE_BOARD: | comparison to GtE"): (
        "node 35 either way at 7 boards, exactly"
    ),
    ("pins/_kernel.py", "return (g, t, f, s) if g > f else (f, s, g, t) | comparison to GtE"): (
        "two equal parts: only the node between them differs, and its share is 0"
    ),
    ("pins/_kernel.py", "if math.isnan(seen[node, 0]): | 0 to 1"): (
        "both columns of a node are filled at once"
    ),
    ("pins/_kernel.py", "NO_KEY = -1 | 1 to 2"): "any number below every key will do",
    (
        "ball/_kernel.py",
        "ROLLS = 4  # from here on straight (or across 60 ft) | 4 to 5",
    ): "a name only: any number that no other state has",
    (
        "ball/_kernel.py",
        "return 2.0 * v2 / crowd if crowd > v2 else 2.0 | comparison to GtE",
    ): "2 either way where they are equal",
    **{
        (
            "study/equivalence.py",
            change,
        ): "differs where a chance or a width equals its limit to the last bit"
        for change in (
            "while catch_chance(high, se, df, margin, tests) < chance: | comparison to LtE",
            "if catch_chance(middle, se, df, margin, tests) < chance: | comparison to LtE",
            "while high - low > 0.05: | comparison to GtE",
        )
    },
    **{
        (
            "study/equivalence.py",
            change,
        ): "another start or stride of the doubling: halving ends within 0.05 of the same"
        for change in (
            "low, high = margin, margin + 1.0 | operator to Sub",
            "low, high = margin, margin + 1.0 | 1.0 to 2.0",
            "low, high = high, min(2.0 * high, LARGEST_EFFECT) | 2.0 to 3.0",
        )
    },
    (
        "study/equivalence.py",
        "half = float(stdtrit(df, 0.5 + level / 2.0)) * se if se > 0.0 else 0.0 | comparison to GtE",
    ): "a quantile times 0 is 0",
    (
        "study/equivalence.py",
        "made = test([[0, only_first], [only_second, 0]], exact=exact, correction=False) | 0 to 1",
    ): "the test looks at the other diagonal only",
    ("scoring/counts.py", "_LONGEST_STEP = 60 | 60 to 61"): "room that stays 0",
    (
        "scoring/counts.py",
        "now = [np.zeros(1, dtype=np.int64) for _ in _WEIGHTS] | 1 to 2",
    ): "room that stays 0",
    (
        "scoring/counts.py",
        "for first in range(10): | 10 to 11",
    ): "after ten pins an open frame has no second ball",
    (
        "scoring/counts.py",
        "reach = now[0].size + _LONGEST_STEP | 0 to 1",
    ): "all four are of one size",
    **{
        (
            "scoring/distribution.py",
            change,
        ): "one rack more, which nobody reads, or that is the one before again"
        for change in (
            "seconds = np.zeros((12, 10, 11)) | 12 to 13",
            "law = np.empty((12, 11)) | 12 to 13",
            "for frame in range(1 if one else 10): | 1 to 2",
            "for frame in range(1 if one else 10): | 10 to 11",
            'seconds[:10] = _leaves(second_ball, "second_ball") | 10 to 11',
        )
    },
    ("scoring/distribution.py", "if abs(total - 1.0) > _SUM_TOLERANCE: | comparison to GtE"): (
        "differs where a sum is off by the tolerance to the last bit"
    ),
    **{
        ("ball/_kernel.py", f"{line} | comparison to {word}"): (
            "differs where a number equals its limit to the last bit: one step of a row or two, two or four"
        )
        for line, word in (
            ("if abs(aside) <= STEEP_BOARDS:", "Lt"),
            (
                "if (near + far) * per_film <= 1.0 or min(near, far) * per_film >= DEEP_NODES:",
                "Lt",
            ),
            (
                "if (near + far) * per_film <= 1.0 or min(near, far) * per_film >= DEEP_NODES:",
                "Gt",
            ),
            ("return (max(near, far, before, beyond) - low) * per_film > 1.0", "GtE"),
            ("part = 0.5 if abs(aside) < STEEPER_BOARDS else 0.25", "LtE"),
        )
    },
    **{
        ("ball/_kernel.py", f"{line} | comparison to Lt"): (
            "differs where a ball is over board 0.5 to the last bit, where the lane ends"
        )
        for line in (
            "if not (0.5 <= middle < 39.5):",
            "if not (0.5 <= b <= 39.5):",
            "if bounded and not (0.5 <= b <= 39.5):",
        )
    },
    ("ball/_kernel.py", "column = left if f < 0.5 else left + step | comparison to LtE"): (
        "differs where a ball is halfway between two boards to the last bit: either is the nearest"
    ),
    ("ball/_kernel.py", "if after <= 0.0: | comparison to Lt"): (
        "differs where the slide ends with a step to the last bit: the next step then says that it rolls"
    ),
    ("ball/_kernel.py", "if roll < ROWS * FT: | comparison to LtE"): (
        "differs where rolling begins at 60 ft to the last bit"
    ),
    ("ball/_kernel.py", "if roll < ROWS * FT: | operator to Div"): (
        "rolling begins before 60 ft or is told as 1e9: no ball is between them"
    ),
    ("ball/_kernel.py", "first = int(roll / FT) | operator to Mult"): (
        "looks at earlier rows as well, which the ball has passed: they are left out one by one"
    ),
    (
        "ball/_kernel.py",
        "inertia, dx, dy, fx, fy, done, slip, board, 0.0, 0.0, 0, 0.0, 1.0, 0.0, 0.0, 1e9, track, out,"
        " | 1000000000.0 to 1000000001.0",
    ): "any distance beyond 60 ft: `arrive` writes the 1e9 of a ball that never rolled",
    ("ball/_kernel.py", "mu = 0.0 | 0.0 to 1.0"): (
        "a ball without slip only: its slide takes no time and no way, whatever the friction"
    ),
    ("ball/_kernel.py", "if slide < t: | comparison to LtE"): (
        "differs where rolling begins on the very edge of a step, to the last bit"
    ),
    (
        "ball/_kernel.py",
        "t = 2.0 * length / (vx + math.sqrt(square)) if square > 0.0 else math.inf | comparison to GtE",
    ): "differs where a ball comes to rest on the very edge of a step, to the last bit",
    ("ball/_kernel.py", "if slip <= ROLLING_SLIP: | comparison to Lt"): (
        "differs where slip equals the limit to the last bit"
    ),
    (
        "play/_kernel.py",
        "if abs(mean) < max(LEAST_MOVE, NOISE_MOVE * crew.usual_off[i, g]): | comparison to LtE",
    ): "differs where a mean equals the limit to the last bit",
    ("play/_kernel.py", "for j in range(10): | 10 to 11"): "all ten pins are what is left anyhow",
}  # module, line and change: why no test can or need see it
DECORATORS: dict[str, Callable[..., object]] = {}  # of ``leaguesim.compiled``, as they are
QUIET = ("-x", "-q", "-p", "no:cacheprovider", "-W", "ignore::pytest.PytestAssertRewriteWarning")
HEAVY = (
    "numpy",
    "scipy.stats",
    "hypothesis",
    "statsmodels.stats.multitest",
    "statsmodels.stats.proportion",
    "statsmodels.stats.contingency_tables",
    "statsmodels.stats.power",
    "statsmodels.stats.weightstats",
)  # fmt: skip - loaded once, before any child is made
COMPARISONS = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
OPERATORS = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd, ast.Pow: ast.Mult, ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult,
}  # fmt: skip


def changes(tree: ast.Module) -> Iterator[tuple[int, str, ast.Module]]:
    """Line, what was changed, and the changed tree; annotations, names and words are left alone."""
    nodes = list(ast.walk(tree))
    skipped = {id(n) for a in nodes for n in _notes(a)}
    for k, node in enumerate(nodes):
        if id(node) in skipped:
            continue
        for word, change in _mutants(node):
            other = copy.deepcopy(tree)
            change(list(ast.walk(other))[k])
            yield getattr(node, "lineno", 0), word, ast.fix_missing_locations(other)


def _notes(node: ast.AST) -> Iterator[ast.AST]:
    for field in ("annotation", "returns"):
        held = getattr(node, field, None)
        if held is not None:
            yield from ast.walk(held)
    if isinstance(node, (ast.Import, ast.ImportFrom, ast.Raise, ast.JoinedStr)):
        yield from ast.walk(node)


def _mutants(node: ast.AST) -> Iterator[tuple[str, object]]:
    if isinstance(node, ast.Compare):
        new = COMPARISONS[type(node.ops[0])]
        yield f"comparison to {new.__name__}", lambda n: n.ops.__setitem__(0, new())
    elif isinstance(node, (ast.BinOp, ast.AugAssign)) and type(node.op) in OPERATORS:
        new_op = OPERATORS[type(node.op)]
        yield f"operator to {new_op.__name__}", lambda n: setattr(n, "op", new_op())
    elif isinstance(node, ast.BoolOp):
        other = ast.Or if isinstance(node.op, ast.And) else ast.And
        yield f"to {other.__name__}", lambda n: setattr(n, "op", other())
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        yield "minus to plus", lambda n: setattr(n, "op", ast.UAdd())
    elif isinstance(node, ast.Constant) and type(node.value) in (int, float):
        more = node.value + 1
        yield f"{node.value} to {more}", lambda n: setattr(n, "value", more)
    elif isinstance(node, (ast.If, ast.IfExp)):
        yield (
            "condition turned round",
            lambda n: setattr(n, "test", ast.UnaryOp(ast.Not(), n.test)),
        )


def dies(name: str, code: CodeType, tests: list[str]) -> bool:
    """Whether some test fails, or does not end, in a child whose module holds the changed code."""
    child = os.fork()
    if child == 0:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        signal.setitimer(signal.ITIMER_PROF, 60.0)  # processor time: a busy machine kills no mutant
        failed = 1
        try:
            module = importlib.import_module(name)
            exec(code, module.__dict__)  # noqa: S102 - this is what a mutant is
            failed = int(pytest.main([*QUIET, *tests]))
        finally:
            os._exit(1 if failed else 0)
    return os.waitpid(child, 0)[1] != 0


def dies_plain(code: CodeType, check: Callable[[SimpleNamespace], None]) -> bool:
    """Whether ``check`` fails, or does not end, on the functions of a kernel module left uncompiled."""
    child = os.fork()
    if child == 0:
        signal.setitimer(signal.ITIMER_PROF, 20.0)
        failed = 1
        try:
            made: dict[str, object] = {"__name__": "plain"}
            exec(code, made)  # noqa: S102 - this is what a mutant is
            check(SimpleNamespace(**{k: v for k, v in made.items() if not k.startswith("__")}))
            failed = 0
        finally:
            os._exit(failed)
    return os.waitpid(child, 0)[1] != 0


def checker(path: str, name: str) -> Callable[[SimpleNamespace], None]:
    """``check`` of a test file for a module; what is made from now on stays plain Python."""
    from leaguesim import compiled

    if not DECORATORS:
        DECORATORS.update(
            {n: getattr(compiled, n) for n in ("kernel", "lean_kernel", "small_kernel")}
        )
    vars(compiled).update(DECORATORS)
    spec = importlib.util.spec_from_file_location("checks", ROOT / path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    made: Callable[[object], None] = module.check
    if hasattr(module, "test_compiled_kernels"):
        made(importlib.import_module(name))  # what is called in other rooms is compiled once, here
    vars(compiled).update(dict.fromkeys(DECORATORS, lambda function: function))
    return made


def main() -> int:
    """Try every mutant of the modules asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("modules", nargs="*", default=sorted({**TESTS, **PLAIN}))
    parser.add_argument("--sample", type=int, help="so many mutants of a module, drawn by --seed")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    os.chdir(ROOT)
    for heavy in HEAVY:
        importlib.import_module(heavy)
    unexplained = 0
    for path in asked.modules:
        name = "leaguesim." + path.removesuffix(".py").replace("/", ".")
        text = (ROOT / "leaguesim" / path).read_text(encoding="utf-8")
        lines = text.splitlines()
        if path in PLAIN:
            held = partial(dies_plain, check=checker(PLAIN[path], name))
        else:
            importlib.import_module(name)
            held = partial(dies, name, tests=TESTS[path])
        if held(compile(text, path, "exec")):
            print(f"{path}: its tests fail without a change")
            return 1
        count, seen = 0, 0
        every = list(changes(ast.parse(text)))
        if path in ONLY:  # of a module that is not checked whole, the functions that are
            spans = [
                range(f.lineno, f.end_lineno + 1)
                for f in ast.parse(text).body
                if isinstance(f, ast.FunctionDef) and f.name in ONLY[path]
            ]
            every = [m for m in every if any(m[0] in span for span in spans)]
            print(f"{path}: only {', '.join(ONLY[path])}", flush=True)
        if asked.sample is not None and asked.sample < len(every):
            drawn = sorted(random.Random(asked.seed).sample(range(len(every)), asked.sample))
            print(f"{path}: {asked.sample} of {len(every)} mutants, seed {asked.seed}", flush=True)
            every = [every[k] for k in drawn]
        for line, word, tree in every:
            count += 1
            if held(compile(tree, path, "exec")):
                seen += 1
                continue
            why = EXPLAINED.get((path, f"{lines[line - 1].strip()} | {word}"))
            unexplained += why is None
            print(f"{path}:{line}: {word}: {lines[line - 1].strip()} -- {why}", flush=True)
        print(f"{path}: {count} mutants, {seen} seen", flush=True)
    return 1 if unexplained else 0


if __name__ == "__main__":
    sys.exit(main())
