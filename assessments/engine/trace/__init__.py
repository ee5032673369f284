"""The trace of a decision: each rule, its inputs, its result, and a sentence a mason reads."""

from assessments.engine.trace.replay import replay
from assessments.engine.trace.steps import Step, trace

__all__ = ["Step", "replay", "trace"]
