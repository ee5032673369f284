"""What the steps of a trace establish while it is derived again."""

from typing import Any

Step = dict[str, Any]


class Known:
    """What the steps so far have established.

    ``limits`` by (criterion, side); ``uncertainty`` and ``states`` (low, high, sure, possible)
    by criterion; ``parts`` by name; ``lacking`` what is missing, blocked or not accepted.
    """

    def __init__(self) -> None:
        self.limits: dict[tuple[str, str], str] = {}
        self.uncertainty: dict[str, Step] = {}
        self.observed: dict[str, list[Step]] = {}
        self.states: dict[str, Step] = {}
        self.parts: dict[str, Step] = {}
        self.scores: dict[str, Step] = {}
        self.lacking: dict[str, list[str]] = {"missing": [], "blocked": [], "hold_points": []}
        self.unassessed: list[str] = []
        self.verdict: str | None = None
