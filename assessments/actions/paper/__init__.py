"""Keying in what was scored on paper."""

from assessments.actions.paper.keying import key_in

__all__ = ["key_in"]
