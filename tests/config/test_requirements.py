"""What the code imports is pinned, and so is what that needs."""

import ast
import re
import sys
from collections.abc import Iterator
from importlib.metadata import packages_distributions, requires
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[2]
APPS = ("config", "training", "assessments", "certificates")
PIN = re.compile(r"[A-Za-z0-9._-]+==[A-Za-z0-9.!+]+")
RUNTIME = ROOT / "requirements.txt"
TESTS = ROOT / "tests" / "requirements.txt"


def pins(path: Path) -> set[str]:
    """Return the packages that a file pins, those of the file it includes with them."""
    names = set()
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("-r "):
            names |= pins(path.parent / line.removeprefix("-r "))
        elif line and not line.startswith("#"):
            assert PIN.fullmatch(line), f"{path.name}: {line!r} is not pinned as name==version"
            names.add(canonicalize_name(line.partition("==")[0]))
    return names


def imported(folder: str) -> dict[str, Path]:
    """Return the top-level modules from elsewhere that a folder's code imports, and one place."""
    found: dict[str, Path] = {}
    for path in (ROOT / folder).rglob("*.py"):
        for module in _modules(ast.parse(path.read_text(encoding="utf-8"))):
            if module not in sys.stdlib_module_names and module not in (*APPS, "tests"):
                found[module] = path
    return found


def _modules(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (name.name.partition(".")[0] for name in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module.partition(".")[0]


@pytest.mark.parametrize(("folder", "path"), [*((app, RUNTIME) for app in APPS), ("tests", TESTS)])
def test_what_is_imported_is_pinned(folder: str, path: Path) -> None:
    pinned = pins(path)
    bringing = packages_distributions()
    unpinned = {
        module: str(place.relative_to(ROOT))
        for module, place in imported(folder).items()
        if not pinned & {canonicalize_name(name) for name in bringing.get(module, [])}
    }
    assert unpinned == {}, f"add to {path.relative_to(ROOT)}"


@pytest.mark.parametrize("path", [RUNTIME, TESTS])
def test_what_is_needed_by_what_is_pinned_is_pinned(path: Path) -> None:
    pinned = pins(path)
    missing = {
        f"{need.name}, for {name}"
        for name in pinned
        for need in map(Requirement, requires(name) or [])
        if (need.marker is None or need.marker.evaluate({"extra": ""}))
        and canonicalize_name(need.name) not in pinned
    }
    assert missing == set()
