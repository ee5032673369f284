"""What the report on a panel says, from its document and from what was sealed since."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from assessments.evidence.judging import when_to_use
from assessments.models import Judge, Panel, SealedStandard
from assessments.queries.panel.ratings import round_tables
from training.models import Program


def report_of(panel: Panel, document: Mapping[str, Any]) -> dict[str, Any]:
    """Return what documents/panel_report.html shows. Rounds are told with their tables, instants
    as datetimes; ``sealed`` are the standards sealed with this panel (one query)."""
    program = panel.program
    adoption = document["adoption"]
    titles = {item["key"]: item["title"] for item in document["items"]}
    sealed = SealedStandard.objects.filter(
        program=panel.program_id, document__about__panel__id=str(panel.pk)
    ).select_related("sealed_by")
    return {
        "panel": panel,
        "program": program,
        "paper_unit": Program.Unit(program.unit).label,
        "document": document,
        "method": Panel.Method(document["method"]).label,
        "statistic": Panel.Statistic(document["statistic"]).label,
        "when": when_to_use(document["method"]),
        "judges": [
            {**judge, "state": Judge.State(judge["state"]).label} for judge in document["judges"]
        ],
        "rounds": [
            {
                **round,
                "opened_at": _instant(round["opened_at"]),
                "closed_at": _instant(round["closed_at"]),
                "tables": round_tables(document, round),
            }
            for round in document["rounds"]
        ],
        "adoption": adoption and {**adoption, "at": _instant(adoption["at"])},
        "critical": [titles.get(key, key) for key in adoption["critical"]] if adoption else [],
        "digest": panel.adoption.digest if adoption else None,
        "sealed": list(sealed.order_by("serial")),
    }


def _instant(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text) if text else None
