"""The pass rule."""

from assessments.engine.rule.alone import decides_alone
from assessments.engine.rule.combine import Combined, combine
from assessments.engine.rule.score import Score, score
from assessments.engine.rule.verdict import Findings, Part, Ruling, Verdict, give, verdict

__all__ = [
    "Combined",
    "Findings",
    "Part",
    "Ruling",
    "Score",
    "Verdict",
    "combine",
    "decides_alone",
    "give",
    "score",
    "verdict",
]
