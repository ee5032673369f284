"""Whether the crew can fill all posts at once, on each day; no Django, no database, no clock."""

from certificates.coverage.matcher import Matcher
from certificates.coverage.model import (
    Able,
    Break,
    Candidate,
    Closing,
    Coverage,
    CoverageError,
    Gap,
    Plan,
    Post,
    Span,
)
from certificates.coverage.sweep import coverage

__all__ = [
    "Able",
    "Break",
    "Candidate",
    "Closing",
    "Coverage",
    "CoverageError",
    "Gap",
    "Matcher",
    "Plan",
    "Post",
    "Span",
    "coverage",
]
