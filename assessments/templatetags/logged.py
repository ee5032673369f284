"""How the site log is shown: temperatures in both units, clocks, things by their key."""

from collections.abc import Mapping
from datetime import datetime
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

from django import template

from training.models import Curing, MortarBatch
from training.queries import sitelog_clocks as clocks

register = template.Library()


@register.filter
def temperature(celsius: Decimal) -> str:
    """Return a temperature in both units: ``12.2 °C (54 °F)``, the second to a whole degree."""
    fahrenheit = (celsius * 9 / 5 + 32).quantize(Decimal(1), rounding=ROUND_HALF_EVEN)
    return f"{celsius} °C ({fahrenheit} °F)".replace("-", "−")


@register.filter
def of(found: Mapping[Any, Any], key: Any) -> Any:
    """Return what ``found`` has for ``key``; for a key that it lacks, an empty text."""
    return found.get(key, "")


@register.filter
def batch_clock(batch: MortarBatch, now: datetime) -> clocks.Clock:
    """Return how much working life a batch has left."""
    return clocks.batch_clock(batch, now)


@register.filter
def curing_clock(curing: Curing, now: datetime) -> clocks.Clock:
    """Return how long a repair still cures."""
    return clocks.curing_clock(curing, now)
