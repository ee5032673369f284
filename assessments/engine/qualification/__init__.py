"""What a record covers beyond the piece assessed, and how long it goes on counting.

The idea is that of welders' qualification (ISO 9606-1): a test covers what was tested and what is
easier, and it goes on counting only while the work goes on and somebody confirms it. No table of
that kind is published for masonry: the program's author sets the rules, they are sealed with the
passing standard (``about.qualification``, FORMATS.md), and every record says whose they are.
"""

from assessments.engine.qualification.continuity import (
    BEFORE,
    BROKEN,
    DUE,
    GRACE,
    KEPT,
    LAPSED,
    Confirmed,
    Kept,
    kept,
)
from assessments.engine.qualification.cover import (
    Range,
    Shortfall,
    covers,
    range_as_need,
    range_of,
    within,
)
from assessments.engine.qualification.load import load_rules
from assessments.engine.qualification.model import Continuity, Extent, Renewal, Rules, Variable
from assessments.engine.qualification.need import Need, load_need, need_rows
from assessments.engine.qualification.stated import rules_in, stated_range
from assessments.engine.qualification.words import (
    continuity_brief,
    continuity_sentence,
    renewal_sentence,
)

__all__ = [
    "BEFORE",
    "BROKEN",
    "DUE",
    "GRACE",
    "KEPT",
    "LAPSED",
    "Confirmed",
    "Continuity",
    "Extent",
    "Kept",
    "Need",
    "Range",
    "Renewal",
    "Rules",
    "Shortfall",
    "Variable",
    "continuity_brief",
    "continuity_sentence",
    "covers",
    "kept",
    "load_need",
    "load_rules",
    "need_rows",
    "range_as_need",
    "range_of",
    "renewal_sentence",
    "rules_in",
    "stated_range",
    "within",
]
