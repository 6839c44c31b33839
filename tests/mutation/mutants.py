"""Which changes to a formula or a rule no test would notice: mutmut on a copy of the project, in build/mutants.

    python tests/mutation/mutants.py "knowledge.physics.*"

mutmut passes over decorated functions, and every rule is one; in the copy `@rule(...)` becomes a call after it. Nor
does the copy remember what it computed: each test has to ask the rules itself for mutmut to see which ones it asks.
A change of mere wording, in a string of several words, is counted apart: the tests hold the words that decide.
"""

import ast
import copy
import json
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
COPY = ROOT / "build" / "mutants"
COPIED = ("api", "demo_data", "knowledge", "tests", "pyproject.toml")
SURVIVED, UNTESTED = 0, 33


def copy_project() -> None:
    """A fresh copy of what is tested and of what it needs."""
    shutil.rmtree(COPY, ignore_errors=True)
    COPY.mkdir(parents=True)
    for name in COPIED:
        put = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
        put(ROOT / name, COPY / name)
    for path in COPY.rglob("*.py"):
        source = re.sub(r"@lru_cache\(maxsize=[\d_]+\)", "@lru_cache(maxsize=0)", path.read_text(encoding="utf-8"))
        is_of_rules = path.is_relative_to(COPY / "knowledge") and "rules" in (*path.parts, path.stem)
        path.write_text(undecorated(source) if is_of_rules else source, encoding="utf-8")


def undecorated(source: str) -> str:
    """A module whose rules are made by a call after the function instead of by a decorator before it.

    The decorator itself is left alone: it runs when a module is imported, before mutmut switches a mutant on.
    """
    lines = source.splitlines()
    for node in reversed(ast.parse(source).body):
        if isinstance(node, ast.FunctionDef) and node.decorator_list:
            [decorator] = node.decorator_list
            lines.insert(node.end_lineno, f"\n\n{node.name} = ({ast.unparse(decorator)})({node.name})")
            del lines[decorator.lineno - 1 : node.lineno - 1]
        elif isinstance(node, ast.FunctionDef) and node.name == "rule":
            lines.insert(node.end_lineno, "# pragma: no mutate end")
            lines.insert(node.lineno - 1, "# pragma: no mutate start")
    return "\n".join(lines) + "\n"


class Wordless(ast.NodeTransformer):
    """Takes the wording out of a function: what is around the values in a text, and what says that nothing is said."""

    def visit_Constant(self, node: ast.Constant) -> ast.AST:
        return ast.Constant("") if isinstance(node.value, str) and " " in node.value else node

    def visit_JoinedStr(self, node: ast.JoinedStr) -> ast.AST:
        values = [self.visit(value.value) for value in node.values if isinstance(value, ast.FormattedValue)]
        return ast.Tuple(values, ast.Load())

    def visit_Call(self, node: ast.Call) -> ast.AST:
        called = node.func.id if isinstance(node.func, ast.Name) else ""
        return node.func if called == "not_concerned" else self.generic_visit(node)


def survivors() -> Iterator[tuple[str, str, bool]]:
    """Each mutant that no test noticed: its name, what it changes, and whether that is wording only."""
    for meta in sorted((COPY / "mutants").rglob("*.meta")):
        module = ast.parse(meta.with_suffix("").read_text(encoding="utf-8"))
        functions = {node.name: node for node in ast.walk(module) if isinstance(node, ast.FunctionDef)}
        for name, code in json.loads(meta.read_text(encoding="utf-8"))["exit_code_by_key"].items():
            if code in (SURVIVED, UNTESTED):
                mutant = name.rpartition(".")[2]
                pair = functions[f"{mutant.partition('__mutmut_')[0]}__mutmut_orig"], functions[mutant]
                before, after = (ast.unparse(function).splitlines()[1:] for function in pair)
                change = "\n".join(
                    f"    {a.strip()}\n  > {b.strip()}" for a, b in zip(before, after, strict=False) if a != b
                )
                left = {ast.unparse(Wordless().visit(copy.deepcopy(function))).partition("\n")[2] for function in pair}
                yield name, change, len(left) == 1 and before != after


def main(pattern: str) -> None:
    """Try every mutant that the pattern names, one at a time, and list those that survive."""
    copy_project()
    subprocess.run([sys.executable, "-m", "mutmut", "run", "--max-children", "1", pattern], cwd=COPY, check=True)
    found = list(survivors())
    decisive = [f"{name}\n{change}" for name, change, is_wording in found if not is_wording]
    print(*decisive, sep="\n")
    print(f"{len(found)} survive: {len(found) - len(decisive)} by their wording, {len(decisive)} otherwise")


if __name__ == "__main__":
    main(sys.argv[1])
