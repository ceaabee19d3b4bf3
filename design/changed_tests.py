"""Run the tests of what changed since the last commit, or in it if nothing has changed since.

    python design/changed_tests.py [--list]

This covers test files that changed or that import what changed. The ones closest to the change run first, as
many as fit into SECONDS by their last times. Browser tests, and those that do not fit, are left to `make
test` and listed. `--list` runs nothing.
"""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from functools import cache
from pathlib import Path

import grimp

ROOT = Path(__file__).parents[1]
SRC, TESTS = ROOT / "src", ROOT / "tests"
SECONDS = 8.0
UNKNOWN_S = 1.0
"""The assumed time of a test file that has never run here, s."""


def git(*words: str) -> list[str]:
    """Return the lines of a git command's output."""
    done = subprocess.run(["git", *words], cwd=ROOT, capture_output=True, text=True, check=True)
    return done.stdout.splitlines()


def changed_files() -> list[Path]:
    """Return the files that differ from the last commit, or that it changed."""
    found = git("diff", "--name-only", "HEAD") + git("ls-files", "--others", "--exclude-standard")
    found = found or git("diff", "--name-only", "HEAD~1")
    return [ROOT / name for name in found if (ROOT / name).is_file()]


def module_of(path: Path) -> str:
    """Return the module name of a file."""
    base = SRC if path.is_relative_to(SRC) else TESTS
    names = path.relative_to(base).with_suffix("").parts
    return ".".join(names[:-1] if names[-1] == "__init__" else names)


@cache
def imported(path: Path) -> frozenset[str]:
    """Return the names of everything that a test file imports: modules, and names from them."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            names |= {one.name for one in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{one.name}" for one in node.names)}
    return frozenset(names)


def importers(modules: set[str]) -> list[Path]:
    """Return the test files that import any of these, directly or through files beside the tests."""
    files = sorted(TESTS.rglob("*.py"))
    wanted, found = set(modules), set()
    while more := {path for path in files if path not in found and imported(path) & wanted}:
        found |= more
        # A file beside the tests is imported by its own name, in every folder.
        wanted |= {path.stem for path in more if not path.name.startswith(("test_", "conftest"))}
    return sorted(path for path in found if path.name.startswith("test_"))


def nearest_first(changed: list[Path]) -> list[Path]:
    """Return the test files for what changed, closest first."""
    sources = {path for path in changed if path.is_relative_to(SRC) and path.suffix == ".py"}
    beside = {path.stem for path in changed if path.is_relative_to(TESTS) and path.suffix == ".py"}
    order = [path for path in changed if path.name.startswith("test_") or path.suffix == ".md"]
    order += [path for path in sources if ">>> " in path.read_text()]
    order += importers(beside)
    graph = grimp.build_graph("coldfield")
    modules = {module_of(path) for path in sources} & graph.modules
    seen = set(modules)
    while modules:
        order += importers(modules)
        modules = {above for one in modules for above in graph.find_modules_that_directly_import(one)} - seen
        seen |= modules
    return list(dict.fromkeys(order))


def seconds() -> dict[str, float]:
    """Return the last time of each file, s, which the tests record (tests/conftest.py)."""
    kept = ROOT / ".pytest_cache" / "v" / "coldfield" / "seconds"
    return dict(json.loads(kept.read_text())) if kept.exists() else {}


def chosen(order: list[Path]) -> tuple[list[str], list[str]]:
    """Return the files to run now and the remaining ones."""
    took, run, left, total = seconds(), [], [], 0.0
    for path in order:
        name = str(path.relative_to(ROOT))
        cost = took.get(name, UNKNOWN_S)
        if "tests/front/" in name or (run and total + cost > SECONDS):
            left.append(name)
        else:
            run.append(name)
            total += cost
    return run, left


def main() -> int:
    """Run the tests, and print which ones are left."""
    run, left = chosen(nearest_first(changed_files()))
    if left:
        print(f"left to `make test`: {len(left)} files, as {', '.join(left[:3])}", flush=True)
    if not run or "--list" in sys.argv:
        print("\n".join(run) or "no tests of what changed")
        return 0
    command = [sys.executable, "-m", "pytest", "-q", "-x", *run]
    # 5 means that no tests were found.
    return subprocess.run(command, cwd=ROOT, check=False).returncode % 5


if __name__ == "__main__":
    sys.exit(main())
