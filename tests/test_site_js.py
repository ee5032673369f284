"""The scoring page's modules, tested by node's own test runner (Debian's package nodejs)."""

import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from config.static import small

ROOT = Path(__file__).parent.parent
TESTS = sorted((ROOT / "tests/site_js").glob("*.test.js"))
MODULES = sorted((ROOT / "static/site").rglob("*.js"))


def node(*arguments: str, folder: Path = ROOT) -> subprocess.CompletedProcess[str]:
    """Run node in a folder; the checkout's root where none is given."""
    path = shutil.which("node")
    assert path, "Node is missing: run make test, which installs it (Debian package nodejs)."
    # Node's runner takes a variable of its own to mean that it runs inside another test.
    environment = {name: text for name, text in os.environ.items() if name != "NODE_TEST_CONTEXT"}
    return subprocess.run(
        [path, *arguments], cwd=folder, env=environment, capture_output=True, text=True, check=False
    )


def shown(run: subprocess.CompletedProcess[str]) -> str:
    """What node said, for the message of a failed test."""
    return f"\n{run.stdout[-8000:]}\n{run.stderr[-4000:]}"


@pytest.mark.parametrize("path", TESTS, ids=lambda path: path.name)
def test_modules(path: Path) -> None:
    run = node("--test", "--test-reporter=tap", str(path.relative_to(ROOT)))
    assert run.returncode == 0, shown(run)
    # A file in which nothing ran would pass as well.
    assert re.search(r"^# pass [1-9]", run.stdout, re.MULTILINE), shown(run)
    assert re.search(r"^# skipped 0$", run.stdout, re.MULTILINE), shown(run)


def test_modules_pass_when_they_are_small(tmp_path: Path) -> None:
    for name in ("package.json", *(f"tests/{each}" for each in ("site_js", "vectors"))):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).symlink_to(ROOT / name)
    for path in MODULES:
        name = path.relative_to(ROOT / "static").as_posix()
        shrunk = tmp_path / "static" / name
        shrunk.parent.mkdir(parents=True, exist_ok=True)
        shrunk.write_text(small(name, path.read_text()))

    names = [str(path.relative_to(ROOT)) for path in TESTS]
    options = ["--preserve-symlinks", "--preserve-symlinks-main", "--test-reporter=tap"]
    run = node("--test", *options, *names, folder=tmp_path)

    assert run.returncode == 0, shown(run)
    assert re.search(r"^# pass [1-9]", run.stdout, re.MULTILINE), shown(run)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_module_is_read_by_node(path: Path) -> None:
    run = node("--check", str(path.relative_to(ROOT)))
    assert run.returncode == 0, shown(run)


def test_there_are_tests_and_modules() -> None:
    names = {path.name for path in (*TESTS, *MODULES)}
    assert {"lengths.js", "judge.js", "lengths.test.js", "judge.test.js"} <= names
