"""What the import contracts of pyproject.toml cannot say: who opens files, and what the terminal path loads."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
KNOWLEDGE = sorted((ROOT / "knowledge").rglob("*.py"))
OPENERS = {"open", "read_text", "read_bytes", "write_text", "write_bytes", "iterdir", "glob", "rglob"}


def called(path: Path) -> set[str]:
    """The last name of everything a file calls."""
    calls = (node.func for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.Call))
    return {getattr(function, "attr", getattr(function, "id", "")) for function in calls}


def named(path: Path) -> str:
    """The file as a test name."""
    return str(path.relative_to(ROOT))


@pytest.mark.parametrize("path", KNOWLEDGE, ids=named)
def test_only_the_module_of_files_opens_one(path: Path) -> None:
    if path != ROOT / "knowledge" / "loading" / "files.py":
        assert not OPENERS & called(path)


def test_the_terminal_path_imports_no_web_framework() -> None:
    assert not {"fastapi", "starlette", "uvicorn"} & modules_behind("api.__main__")


def modules_behind(name: str) -> set[str]:
    """The top-level packages that a module of ours imports when it is loaded, directly or through ours."""
    waiting = [name]
    seen: set[str] = set()
    packages: set[str] = set()
    while waiting:
        module = waiting.pop()
        path = ROOT.joinpath(*module.split(".")).with_suffix(".py")
        if module in seen or not path.is_file():
            continue
        seen.add(module)
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            names = [node.module] if isinstance(node, ast.ImportFrom) else []
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else names
            packages |= {found.split(".")[0] for found in names if found}
            waiting += [found for found in names if found]
    return packages
