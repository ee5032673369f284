"""What the method of a panel asks of each judge, as (kind, key) of the judgements."""

import uuid
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db.models import Min, Q
from django.utils import timezone
from django.utils.translation import gettext_noop as N_

from assessments.models import Attempt, Criterion, Decision, Judgement, JudgingRound, Panel

Key = tuple[str, str]

# Ebel's grid (R. L. Ebel, Essentials of Educational Measurement, 1972; from memory).
RELEVANCE = {
    "essential": N_("Essential"),
    "important": N_("Important"),
    "acceptable": N_("Acceptable"),
    "questionable": N_("Questionable"),
}
DIFFICULTY = {"easy": N_("Easy"), "medium": N_("Medium"), "hard": N_("Hard")}
CELLS = tuple(f"{relevance}-{difficulty}" for relevance in RELEVANCE for difficulty in DIFFICULTY)

# Five steps around the borderline; the regression reads the cut at the third.
RATINGS = {
    1: N_("Clearly below the mason who just meets the standard"),
    2: N_("Somewhat below"),
    3: N_("As the mason who just meets the standard would leave it"),
    4: N_("Somewhat above"),
    5: N_("Clearly above"),
}
GROUPS = {
    "competent": N_("A competent mason's work"),
    "not_yet": N_("Not yet a competent mason's work"),
}
LIMITS = ("least_cut", "most_cut", "least_fail", "most_fail")
LIMITS_KEY: Key = (Judgement.Subject.LIMITS, "limits")

BY_PIECES = (Panel.Method.BORDERLINE, Panel.Method.CONTRASTING)
RESULTS = (Decision.Result.MET, Decision.Result.NOT_YET_MET)


def judges_pieces(panel: Panel) -> bool:
    """Say whether the judges look at finished pieces rather than at criteria."""
    return panel.method in BY_PIECES


def asked_keys(panels: Iterable[Panel]) -> dict[uuid.UUID, list[Key]]:
    """Return, for each panel, what every judge is asked, in order (at most four queries).

    Cells of Ebel's grid are not among them: these follow from a judge's own placements.
    """
    wanted = list(panels)
    by_pieces = [panel for panel in wanted if judges_pieces(panel)]
    pieces = piece_ids(by_pieces) if by_pieces else {}
    by_criteria = [panel for panel in wanted if not judges_pieces(panel)]
    criteria = _criterion_keys(by_criteria) if by_criteria else {}
    asked: dict[uuid.UUID, list[Key]] = {}
    for panel in wanted:
        if judges_pieces(panel):
            keys = [(str(Judgement.Subject.ATTEMPT), str(pk)) for pk in pieces[panel.pk]]
        else:
            own = criteria.get(panel.program_id, [])
            keys = [(str(Judgement.Subject.CRITERION), key) for key in own]
        asked[panel.pk] = [*keys, LIMITS_KEY] if panel.sense_check else keys
    return asked


def with_cells(panel: Panel, keys: Sequence[Key], own: Mapping[Key, Judgement]) -> list[Key]:
    """Return ``keys`` with the cells that the judge's ``own`` placements use, for Ebel."""
    if panel.method != Panel.Method.EBEL:
        return list(keys)
    used = {
        cell_of(found.value)
        for (kind, _unused), found in own.items()
        if kind == Judgement.Subject.CRITERION
    }
    cells = [(str(Judgement.Subject.CELL), cell) for cell in CELLS if cell in used]
    last = [key for key in keys if key == LIMITS_KEY]
    return [*(key for key in keys if key != LIMITS_KEY), *cells, *last]


def cell_of(value: Mapping[str, Any]) -> str:
    """Return the cell of the grid that a placement names, such as ``essential-easy``."""
    return f"{value['relevance']}-{value['difficulty']}"


def cell_title(cell: str) -> str:
    """Return a cell in words: ``essential-easy`` gives ``Essential and easy``.

    In English, since reports that are kept hold it.
    """
    relevance, _unused, difficulty = cell.partition("-")
    return f"{RELEVANCE[relevance]} and {DIFFICULTY[difficulty].lower()}"


def piece_ids(panels: Sequence[Panel]) -> dict[uuid.UUID, list[uuid.UUID]]:
    """Return, for each panel, the pieces judged: attempts of its source runs (three queries).

    An attempt counts that was decided in full before the first round opened, so that what is
    asked stays the same from then on. The order is that of the random ids: it tells nothing
    of who made a piece, or when. "Piece 1" is the first.
    """
    opened = dict(
        JudgingRound.objects.filter(panel__in=panels)
        .order_by()
        .values_list("panel")
        .annotate(first=Min("opened_at"))
    )
    sources: dict[uuid.UUID, set[uuid.UUID]] = {}
    chosen = Panel.objects.filter(pk__in=[panel.pk for panel in panels], sources__isnull=False)
    for panel_id, run_id in chosen.order_by().values_list("pk", "sources"):
        sources.setdefault(panel_id, set()).add(run_id)
    attempts = list(
        Attempt.objects.filter(state=Attempt.State.DECIDED, enrolment__run__panels__in=panels)
        .order_by("pk")
        .values_list("enrolment__run", "pk")
        .annotate(
            first=Min("decisions__decided_at", filter=Q(decisions__result__in=RESULTS)),
        )
    )
    now = timezone.now()
    return {
        panel.pk: list(
            dict.fromkeys(
                pk
                for run, pk, first in attempts
                if run in sources.get(panel.pk, ())
                and first is not None
                and first <= opened.get(panel.pk, now)
            )
        )
        for panel in panels
    }


def current_judgements(
    rounds: Iterable[JudgingRound],
) -> dict[tuple[int, int], dict[Key, Judgement]]:
    """Return what stands, by (round, judge) and then by what was asked (one query)."""
    rows = Judgement.objects.filter(round__in=list(rounds), replaced_by__isnull=True)
    found: dict[tuple[int, int], dict[Key, Judgement]] = {}
    for row in rows:
        own = found.setdefault((row.round_id, row.judge_id), {})
        own[(row.subject_kind, row.subject_key)] = row
    return found


def _criterion_keys(panels: Sequence[Panel]) -> dict[uuid.UUID, list[str]]:
    rows = Criterion.objects.filter(task__program__in=[panel.program_id for panel in panels])
    found: dict[uuid.UUID, list[str]] = {}
    for program, key in rows.order_by("position").values_list("task__program", "key"):
        found.setdefault(program, []).append(key)
    return found
