"""The evidence file of a program: what a certificate-program standard asks about, what is held."""

from assessments.evaluation.file import (  # importing them registers their facts
    assessment_facts,
    delivery_facts,
    program_facts,
    review_facts,
)
from assessments.evaluation.file.facts import (
    Entry,
    Fact,
    Held,
    Lacking,
    evidence_file_of,
    fact_source,
)

__all__ = [
    "Entry",
    "Fact",
    "Held",
    "Lacking",
    "assessment_facts",
    "delivery_facts",
    "evidence_file_of",
    "fact_source",
    "program_facts",
    "review_facts",
]
