"""Which of a program's sealed standards cover what a post of work asks for."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from assessments.engine.errors import EngineError
from assessments.engine.qualification import Rules, covers, load_need, range_of
from assessments.models import SealedStandard
from certificates.queries.ranges import rules_of
from training.models import Program


@dataclass(frozen=True)
class Covering:
    """The rules of every standard of a program, of all its versions; the one sealed last first."""

    rules: tuple[tuple[UUID, Rules | None], ...]

    @property
    def latest(self) -> Rules | None:
        """The rules sealed last: their variables are those that can be asked about."""
        return next((rules for _, rules in self.rules if rules is not None), None)

    def standards(self, need: Mapping[str, Any]) -> tuple[UUID, ...]:
        """Return the standards whose range covers ``need``, as ``load_need`` reads it.

        A standard that has no rule about what is asked does not cover it. Raises EngineError,
        with the variable as its path, where the rules sealed last cannot read it.
        """
        if self.latest is not None:
            load_need(self.latest, dict(need))
        return tuple(pk for pk, rules in self.rules if rules and _covered(rules, need))


def covering_of(program: Program) -> Covering:
    """Return the rules of the program's standards, whatever its version (two queries)."""
    keys = list(
        SealedStandard.objects.filter(
            program__provider=program.provider_id, program__code=program.code
        )
        .order_by("-program__version", "-serial")
        .values_list("pk", flat=True)
    )
    found = rules_of(keys)
    return Covering(tuple((key, found[key]) for key in keys))


def _covered(rules: Rules, need: Mapping[str, Any]) -> bool:
    try:
        return not covers(range_of(rules), load_need(rules, dict(need)))
    except EngineError:
        # Other words or other variables than today's: nothing says that it covers them.
        return False
