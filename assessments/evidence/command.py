"""Work out the evidence from a file of scores: ``python -m assessments.evidence SCORES.json``.

Prints the document as JSON, so that anyone who has the scores can come to the same figures. Exit
codes: 0 worked out; 2 wrong arguments; 3 the scores cannot be used (the field and what to write
instead are on standard error); 4 the file cannot be opened.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path

from assessments.engine.canonical import loads
from assessments.engine.errors import EngineError
from assessments.evidence.errors import EvidenceError
from assessments.evidence.report import evidence_document
from assessments.evidence.score_document import read_scores

DONE, BAD_INPUT, NO_FILE = 0, 3, 4


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command with arguments (those of the process when None); the exit code."""
    parser = argparse.ArgumentParser(
        prog="python -m assessments.evidence",
        description="Work out agreement, dependability and the review of criteria from scores.",
        epilog="Exit codes: 0 worked out, 2 wrong arguments, 3 bad input, 4 no such file.",
    )
    parser.add_argument("scores", type=Path, help="the scores, as JSON (bankermark/scores/1)")
    parser.add_argument("--samples", type=int, default=1000, help="samples drawn for intervals")
    parser.add_argument("--seed", type=int, default=1, help="the number they are drawn from")
    given = parser.parse_args(argv)
    try:
        scores = read_scores(loads(given.scores.read_bytes()))
        document = evidence_document(scores, samples=given.samples, seed=given.seed)
    except (EvidenceError, EngineError) as error:
        print(f"{given.scores}: {error}", file=sys.stderr)
        return BAD_INPUT
    except OSError as error:
        print(f"{given.scores}: {error.strerror}", file=sys.stderr)
        return NO_FILE
    # Escaped, so that it can be printed whatever the terminal's encoding.
    print(json.dumps(document, indent=2))
    return DONE
