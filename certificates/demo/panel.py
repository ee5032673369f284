"""The panel of the scenario: it judges in rounds, and the lead adopts what it recommends."""

from collections.abc import Mapping
from typing import Any

from assessments.actions.panel.adoption import adopt
from assessments.actions.panel.judgements import make_judgement
from assessments.actions.panel.judges import invite_judge, take_seat
from assessments.actions.panel.preparing import open_panel
from assessments.actions.panel.rounds import close_round, end_judging, open_round
from assessments.models import Criterion, Judge, Panel
from assessments.programfile.quantities import read_share, write_share
from training.actions.passwords import set_password
from training.models import Person, Program


def fix_standard(*, lead: Person, program: Program, told: Mapping[str, Any], password: str) -> None:
    """Have the panel of ``told`` (see scenario.yaml) judge ``program``, and adopt its cut."""
    panel = open_panel(
        actor=lead,
        program=program,
        method=told["method"],
        statistic=told["statistic"],
        just_meets=told["just_meets"],
    )
    judges = [_seated(lead, panel, entry, password) for entry in told["judges"]]
    for entry in told["rounds"]:
        opened = open_round(actor=lead, panel=panel)
        for key, shares in entry["shares"].items():
            for judge, share in zip(judges, shares, strict=True):
                make_judgement(
                    actor=judge.person,
                    round=opened,
                    subject_kind="criterion",
                    subject_key=key,
                    value={"share": read_share(f"{share} %")},
                )
        close_round(
            actor=lead, round=opened, discussion=entry["discussion"], accept_gaps=entry["gaps"]
        )
    end_judging(actor=lead, panel=panel)
    critical = Criterion.objects.filter(task__program=program, critical=True)
    adopt(
        actor=lead,
        panel=panel,
        cut=told["adopts"]["cut"],
        band=told["adopts"]["band"],
        outcome_minima={
            outcome.key: write_share(outcome.minimum) if outcome.minimum else ""
            for outcome in program.outcomes.all()
        },
        critical=set(critical.values_list("key", flat=True)),
        reason=told["adopts"]["reason"],
    )


def _seated(lead: Person, panel: Panel, entry: Mapping[str, str], password: str) -> Judge:
    judge = invite_judge(actor=lead, panel=panel, full_name=entry["name"], email=entry["email"])
    if not judge.person.has_usable_password():
        set_password(person=judge.person, password=password)
    return take_seat(
        actor=judge.person,
        judge=judge,
        qualifications=entry["qualifications"],
        interests=entry["interests"],
    )
