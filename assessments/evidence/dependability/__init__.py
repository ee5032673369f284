"""How far decisions under the standard would come out the same again.

Reliability, generalizability and decision studies, and the consistency of decisions. Primary
evidence is double marking; figures of a single administration are indicative.
"""

from assessments.evidence.dependability.beta_binomial import (
    beta_of,
    effective_length,
    huynh,
    livingston_lewis,
)
from assessments.evidence.dependability.blocks import Block, complete, crossed
from assessments.evidence.dependability.consistency import (
    Consistency,
    normal_consistency,
    peng_subkoviak,
    subkoviak,
)
from assessments.evidence.dependability.decision import (
    Decision,
    coefficients,
    decide,
    decision_sentence,
    decision_table,
)
from assessments.evidence.dependability.layout import analysis, components, effects
from assessments.evidence.dependability.reliability import (
    alpha,
    cut_in_criteria,
    k2,
    kr20,
    kr21,
    livingston_k2,
    phi_short_cut,
    sem_at,
)
from assessments.evidence.dependability.section import dependability_section
from assessments.evidence.dependability.study import Component, Study, g_study

__all__ = [
    "Block",
    "Component",
    "Consistency",
    "Decision",
    "Study",
    "alpha",
    "analysis",
    "beta_of",
    "coefficients",
    "complete",
    "components",
    "crossed",
    "cut_in_criteria",
    "decide",
    "decision_sentence",
    "decision_table",
    "dependability_section",
    "effective_length",
    "effects",
    "g_study",
    "huynh",
    "k2",
    "kr20",
    "kr21",
    "livingston_k2",
    "livingston_lewis",
    "normal_consistency",
    "peng_subkoviak",
    "phi_short_cut",
    "sem_at",
    "subkoviak",
]
