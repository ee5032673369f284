"""A record under a standard that a panel fixed: it issues, and it can be made again from itself."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

from assessments.actions.panel.adoption import adopt
from assessments.actions.sealing import seal_standard
from assessments.models import Decision
from certificates.actions.issue import issue_record
from certificates.keys import keystore_of
from certificates.recheck import differences
from tests.assessments.panel_adoption.world import ADOPTED, decided, make_world
from tests.certificates.builders import file_of
from tests.factories import make_run

pytestmark = pytest.mark.django_db


def test_a_record_issues_and_rechecks(tmp_path: Path) -> None:
    world = make_world()
    adopt(actor=world.lead, panel=world.panel, **ADOPTED)
    standard = seal_standard(actor=world.lead, program=world.program)
    (attempt,) = decided(world.program, world.lead, make_run(world.program), (5,))
    assert attempt.standard == standard
    decision = Decision.objects.get(attempt=attempt)
    # 5 of 6 is 83.33 %, above the cut of 73.67 % and its band of 5 %.
    assert decision.result == Decision.Result.MET
    record = issue_record(actor=world.lead, decision=decision)
    about = record.document["standard"]["about"]["panel"]
    assert about["digest"] == world.panel.adoption.digest
    assert about["adopted_cut"] == record.document["decision"]["overall"]["cut"] == "0.7367"
    assert differences(record.document) == []
    file, root = tmp_path / "record.pdf", tmp_path / "root.pem"
    file.write_bytes(file_of(record))
    root.write_bytes(keystore_of(world.provider).roots_pem())
    out = StringIO()
    call_command("recheck", str(file), "--root", str(root), stdout=out)
    assert f"{file}: agrees" in out.getvalue()


def test_a_panel_changed_afterwards_is_seen() -> None:
    """The digest of the standard holds about.panel too."""
    world = make_world()
    adopt(actor=world.lead, panel=world.panel, **ADOPTED)
    seal_standard(actor=world.lead, program=world.program)
    (attempt,) = decided(world.program, world.lead, make_run(world.program), (6,))
    record = issue_record(actor=world.lead, decision=Decision.objects.get(attempt=attempt))
    record.document["standard"]["about"]["panel"]["recommended_cut"] = "0.7"
    assert any("not the one whose digest" in said for said in differences(record.document))
