"""A judge's own sheet: what is asked in the open round, what is entered, and what is missing."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from assessments.engine.errors import EngineError
from assessments.engine.numberline import figures
from assessments.engine.numbers import exact, is_exact, percent_text
from assessments.engine.standard import load_standard
from assessments.models import Judge, Judgement, JudgingRound, Panel
from assessments.programfile.standard import standard_from_program
from assessments.queries.panel.arrays import letters_of
from assessments.queries.panel.asked import (
    GROUPS,
    RATINGS,
    Key,
    asked_keys,
    cell_of,
    cell_title,
    current_judgements,
    judges_pieces,
    with_cells,
)
from assessments.queries.panel.judged import judged_document
from assessments.queries.program_document import program_document
from assessments.sentences import with_limits

KINDS = Judgement.Subject


@dataclass(frozen=True)
class Line:
    """One thing asked: what the judge entered, and what in the closed round before.

    ``criterion`` is its document as the judges are shown it, None for all but a criterion.
    ``others`` are letter, words and note of everybody in the closed round, the own ones too.
    """

    kind: str
    key: str
    title: str
    criterion: Mapping[str, Any] | None
    entry: Judgement | None
    before: Judgement | None
    others: tuple[tuple[str, str, str], ...]

    @property
    def said(self) -> str:
        """What is entered, in words; empty while it is missing."""
        return words_of(self.entry.value) if self.entry else ""

    @property
    def said_before(self) -> str:
        """What was entered in the closed round, in words."""
        return words_of(self.before.value) if self.before else ""


@dataclass(frozen=True)
class Sheet:
    """Everything that the open round asks of the judge; no lines while none is open.

    ``standard`` is the drafted standard, for working out limits; judges see ``lines`` of it.
    """

    judge: Judge
    panel: Panel
    round: JudgingRound | None
    closed: JudgingRound | None
    letter: str
    standard: Mapping[str, Any]
    lines: list[Line]

    @property
    def missing(self) -> int:
        """How many entries are still missing."""
        return sum(line.entry is None for line in self.lines)

    def line(self, kind: str, key: str) -> Line | None:
        """Return the line of a subject, or None."""
        return next((each for each in self.lines if (each.kind, each.key) == (kind, key)), None)

    def next_missing(self, after: Line | None = None) -> Line | None:
        """Return the next line without an entry, looking on from ``after``, then from the start."""
        place = self.lines.index(after) + 1 if after else 0
        ahead = [*self.lines[place:], *self.lines[:place]]
        return next((line for line in ahead if line.entry is None), None)

    def beside(self, line: Line) -> tuple[Line | None, Line | None]:
        """Return the lines before and after ``line``."""
        place = self.lines.index(line)
        before = self.lines[place - 1] if place else None
        return before, self.lines[place + 1] if place + 1 < len(self.lines) else None


def sheet_of(judge: Judge) -> Sheet:
    """Return the sheet of a seat (constant number of queries); ``judge.panel`` must be loaded."""
    panel = judge.panel
    rounds = list(panel.rounds.order_by("number"))
    opened = next((each for each in rounds if each.state == JudgingRound.State.OPEN), None)
    closed = next(
        (each for each in reversed(rounds) if each.state == JudgingRound.State.CLOSED), None
    )
    program = program_document(panel.program)
    document = judged_document(program)
    letters = letters_of(panel)
    found = current_judgements(each for each in (opened, closed) if each)
    standard = standard_from_program(program)
    lines = _lines(judge, opened, closed, document, letters, found) if opened else []
    return Sheet(judge, panel, opened, closed, letters[judge.pk], standard, lines)


def _lines(
    judge: Judge,
    opened: JudgingRound,
    closed: JudgingRound | None,
    document: Mapping[str, Any],
    letters: Mapping[int, str],
    found: Mapping[tuple[int, int], Mapping[Key, Judgement]],
) -> list[Line]:
    panel = judge.panel
    own = found.get((opened.pk, judge.pk), {})
    before = found.get((closed.pk, judge.pk), {}) if closed else {}
    counted = {
        letters[each.pk]: found.get((closed.pk, each.pk), {}) if closed else {}
        for each in panel.judges.filter(state=Judge.State.SEATED).order_by("pk")
    }
    asked = asked_keys([panel])[panel.pk]
    titles = _titles(panel, asked, document)
    criteria = {row["key"]: row for row in document["criteria"]}
    return [
        Line(
            kind=key[0],
            key=key[1],
            title=titles.get(key) or cell_title(key[1]),
            criterion=criteria.get(key[1]) if key[0] == KINDS.CRITERION else None,
            entry=own.get(key),
            before=before.get(key),
            others=tuple(
                (letter, words_of(entries[key].value), entries[key].note)
                for letter, entries in counted.items()
                if key in entries
            ),
        )
        for key in with_cells(panel, asked, own)
    ]


def _titles(panel: Panel, asked: list[Key], document: Mapping[str, Any]) -> dict[Key, str]:
    if judges_pieces(panel):
        titles = {
            key: _("Piece {number}").format(number=number) for number, key in enumerate(asked, 1)
        }
    else:
        titles = {(str(KINDS.CRITERION), row["key"]): row["title"] for row in document["criteria"]}
    titles[(str(KINDS.LIMITS), "limits")] = _("Sense check: four limits")
    return titles


def words_of(value: Mapping[str, Any]) -> str:
    """Return what a judgement says, in words."""
    if "share" in value:
        return percent_text(exact(value["share"]))
    if "rating" in value:
        return f"{value['rating']}: {_(RATINGS[value['rating']]).lower()}"
    if "group" in value:
        return _(GROUPS[value["group"]])
    if "relevance" in value:
        return cell_title(cell_of(value))
    cut, fail = (
        " to ".join(percent_text(exact(value[f"{end}_{name}"])) for end in ("least", "most"))
        for name in ("cut", "fail")
    )
    return _("cut {cut}; not yet meeting it {fail}").format(cut=cut, fail=fail)


def with_limits_worked_out(sheet: Sheet, line: Line) -> Mapping[str, Any] | None:
    """Return the line's criterion; ``derived`` are its limits where a formula gives them."""
    row = line.criterion
    if (
        row is None
        or row["kind"] != "measured"
        or all(end is None or is_exact(end) for end in row["limits"].values())
    ):
        return row
    try:
        drawn = figures(load_standard(dict(sheet.standard)).criterion(row["key"]))
    except EngineError:
        return row  # the draft has faults yet: the formula itself is shown
    return {**row, "derived": with_limits(row, drawn)}
