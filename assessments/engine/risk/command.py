"""The global risks on the command line: ``python -m assessments.engine risk --help``."""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.numbers import exact
from assessments.engine.risk.global_risk import consumer_risk, producer_risk

_PIECES = 10_000
_LIMITS = ("lower", "upper", "acceptance-lower", "acceptance-upper")
_NEEDED = {
    "nominal": "the mean of what the process makes",
    "process-u": "the standard deviation of what the process makes",
    "measurement-u": "the standard uncertainty of a measurement",
}


def main(argv: Sequence[str]) -> int:
    """Print the risks as JSON; 0. Wrong arguments end the process with 2 and what to write."""
    parser = _parser()
    given = parser.parse_args(argv)
    tolerance = (given.lower, given.upper)
    acceptance = (given.acceptance_lower, given.acceptance_upper)
    about = {name: getattr(given, name) for name in ("nominal", "process_u", "measurement_u")}
    try:
        consumer = consumer_risk(tolerance, acceptance, **about)
        producer = producer_risk(tolerance, acceptance, **about)
    except EngineError as error:
        parser.error(f"argument --{error.path.replace('_', '-')}: {error.message}")
    found = {
        "consumer_risk": f"{consumer:.5f}",
        "producer_risk": f"{producer:.5f}",
        "sentence": sentence(consumer, producer),
    }
    print(json.dumps(found, indent=2))
    return 0


def sentence(consumer: float, producer: float) -> str:
    """Both risks as numbers of pieces."""
    return (
        f"Of {_PIECES:,} pieces, {_number(consumer)} would be accepted though outside the "
        f"tolerance limits, and {_number(producer)} rejected though within them."
    )


def _number(risk: float) -> str:
    pieces = round(risk * _PIECES)
    return f"about {pieces:,}" if pieces else "fewer than 1"


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m assessments.engine risk",
        allow_abbrev=False,
        description="Tell what a decision rule risks over a process (JCGM 106:2012, 9.5).",
        epilog="All in one unit, as decimals or fractions; a negative fraction as --lower=-1/8. "
        "Exit codes: 0 told, 2 wrong arguments.",
    )
    for name in _LIMITS:
        kind = "acceptance" if name.startswith("acceptance") else "tolerance"
        side = name.rpartition("-")[2]
        parser.add_argument(f"--{name}", type=_exact, help=f"{side} {kind} limit, if there is one")
    for name, text in _NEEDED.items():
        parser.add_argument(f"--{name}", type=_exact, required=True, help=text)
    return parser


def _exact(text: str) -> Any:
    try:
        return float(exact(text))
    except EngineError as error:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no number: write a decimal or a fraction, such as 0.7 or 7/10"
        ) from error
