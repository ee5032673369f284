"""Whether the crew can fill all posts at once, on each day; no Django, no database, no clock.

``certificates.coverage.drawing`` draws it; it stands apart since it loads more.
"""

from certificates.coverage.closers import closers
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
from certificates.coverage.plan import plan
from certificates.coverage.sweep import Outlook, coverage
from certificates.coverage.timeline import Timeline, timeline

__all__ = [
    "Able",
    "Break",
    "Candidate",
    "Closing",
    "Coverage",
    "CoverageError",
    "Gap",
    "Matcher",
    "Outlook",
    "Plan",
    "Post",
    "Span",
    "Timeline",
    "closers",
    "coverage",
    "plan",
    "timeline",
]
