"""Decide from two files: ``python -m assessments.engine STANDARD.json OBSERVATIONS.json``.

With ``risk`` in place of the files it tells what a decision rule risks (``risk/command.py``).

Prints the decision as JSON. Exit codes: 0 decided, whatever the result; 2 wrong arguments;
3 a file cannot be decided on (the field and what to write instead are on standard error);
4 a file cannot be opened.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from assessments.engine.canonical import loads
from assessments.engine.decide import decide
from assessments.engine.errors import EngineError
from assessments.engine.standard import load_standard

DECIDED, BAD_INPUT, NO_FILE = 0, 3, 4


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command with arguments (those of the process when None); the exit code."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    if arguments[:1] == ["risk"]:
        # Only here: deciding needs no scipy.
        from assessments.engine.risk.command import main as tell_risk

        return tell_risk(arguments[1:])
    parser = argparse.ArgumentParser(
        prog="python -m assessments.engine",
        description="Decide an attempt from a passing standard and its observations.",
        epilog="Exit codes: 0 decided, 2 wrong arguments, 3 bad input, 4 no such file. "
        "For the risks of a decision rule: python -m assessments.engine risk --help",
    )
    parser.add_argument("standard", type=Path, help="the standard, as JSON")
    parser.add_argument("observations", type=Path, help="the observations, as JSON")
    given = parser.parse_args(arguments)
    name = given.standard
    try:
        standard = load_standard(_read(name))
        name = given.observations
        decision = decide(standard, _read(name))
    except EngineError as error:
        print(f"{name}: {error}", file=sys.stderr)
        return BAD_INPUT
    except OSError as error:
        print(f"{name}: {error.strerror}", file=sys.stderr)
        return NO_FILE
    # Escaped, so that it can be printed whatever the terminal's encoding.
    print(json.dumps(decision, indent=2))
    return DECIDED


def _read(path: Path) -> Any:
    return loads(path.read_bytes())
