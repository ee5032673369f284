"""Every address for every role: each sees only what is theirs.

The objects are those of one trainee, employed by the contractor's firm, in the demo's
scenario. A stranger leads training at another provider and must not learn that anything is
there. A new address without a row here fails ``test_every_address_has_a_row``.
"""

import re
import uuid
from collections.abc import Iterable, Iterator
from datetime import timedelta
from hashlib import sha256
from http.cookies import SimpleCookie
from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from assessments.actions.calibration import add_reference_piece, start_sitting
from assessments.actions.evidence import make_evidence
from assessments.actions.panel.judges import invite_judge, take_seat
from assessments.actions.panel.preparing import open_panel
from assessments.actions.site.batches import receive
from assessments.actions.site.photos import receive_bytes
from assessments.models import Attempt, DeviceLoss, Judge, Pack, Panel, PaperSheet, Photo, SetAside
from certificates.actions.credentials import make_credential
from certificates.models import Record
from tests.assessments.site.pictures import jpeg
from tests.factories import make_organisation, make_role
from tests.plain import plain_drawings, plain_records, plain_sheets
from tests.roles_course import course_objects, course_of
from tests.roles_crew import crew_objects, crew_of
from tests.roles_table import PEOPLE, ROLES, TABLE, TRAINEE
from tests.roles_table_course import SIGN_IN
from tests.roles_trainee import second_look_objects, second_look_of
from tests.world import rolled_back, told
from training.models import Enrolment, Organisation, Person, Role

LINK = re.compile(r'<a\b[^>]*\bhref="([^"]+)"')
REFUSED = (403, 404, 405)


@pytest.fixture
def world(db: None, data_in_a_folder_of_its_own: None, tmp_path: Path) -> Iterator[dict[str, Any]]:
    with told(tmp_path, projects=True, courses=True):
        stranger = make_role(Role.Kind.LEAD, make_organisation(Organisation.Kind.PROVIDER))
        record = Record.objects.get(holder__email=TRAINEE)
        enrolment = Enrolment.objects.select_related("run__program").get(person__email=TRAINEE)
        attempt = Attempt.objects.get(enrolment=enrolment)
        piece = add_reference_piece(
            actor=Person.objects.get(email=PEOPLE["lead"]),
            standard=attempt.standard,
            title="Sill stone B",
            description="On the bench by the door.",
            agreed={"arris": {"level": 1}},
            agreed_by="The three instructors, before the season.",
        )
        assessor = Person.objects.get(email=PEOPLE["instructor"])
        panel = open_panel(
            actor=Person.objects.get(email=PEOPLE["lead"]),
            program=enrolment.run.program,
            method="angoff",
            statistic="mean",
            just_meets="Works alone on a plain sill.",
        )
        evidence = attempt.standard.evidence_reports.first() or make_evidence(
            actor=Person.objects.get(email=PEOPLE["lead"]), standard=attempt.standard, samples=100
        )
        make_credential(record=record, at=timezone.now())
        pack = Pack.objects.create(
            run=enrolment.run,
            assessor=assessor,
            device=uuid.uuid4(),
            expires_at=timezone.now() + timedelta(days=1),
        )
        receive(pack, [{"id": "no event that can be read"}])
        yield {
            "photo": photograph(attempt, pack),
            "set_aside": SetAside.objects.get(),
            "loss": DeviceLoss.objects.create(
                pack=pack,
                assessor=assessor,
                device=pack.device,
                epoch=uuid.uuid4(),
                last_seq=3,
                found_seq=0,
                unsent=1,
                found_at=timezone.now(),
            ),
            "evidence": evidence,
            "piece": piece,
            "panel": panel,
            "sitting": start_sitting(actor=assessor, piece=piece),
            "paper": paper_sheet(attempt),
            "stranger": stranger,
            "record": record,
            "enrolment": enrolment,
            "seat": seated_judge(panel),
            "attempt": attempt,
            "standard": attempt.standard,
            "run": enrolment.run,
            "program": enrolment.run.program,
            "decision": record.decision,
            "taught_by": Role.objects.get(person__email="imani.castellane@example.org"),
            "pack": pack,
            **crew_of(enrolment.person),
            **course_of(enrolment, Person.objects.get(email=PEOPLE["lead"])),
            **second_look_of(attempt),
        }


def photograph(attempt: Attempt, pack: Pack) -> Photo:
    """Return a photograph of the attempt, its bytes there."""
    data = jpeg()
    photo = Photo.objects.create(
        id=uuid.uuid4(),
        attempt=attempt,
        subject_kind="criterion",
        subject_key="arris",
        assessor=pack.assessor,
        device=pack.device,
        epoch=uuid.uuid4(),
        seq=1,
        sha256=sha256(data).hexdigest(),
        size=len(data),
        width=80,
        height=60,
        claimed_at=attempt.started_at,
        device_zone="America/New_York",
        content_digest="0" * 64,
    )
    receive_bytes(pack, photo.sha256, data)
    return photo


def paper_sheet(attempt: Attempt) -> PaperSheet:
    """Return a sheet that was kept with the attempt."""
    instructor = Person.objects.get(email=PEOPLE["instructor"])
    sheet = PaperSheet(
        attempt=attempt,
        assessor=instructor,
        keyed_by=instructor,
        scored_at=attempt.started_at,
        kind=PaperSheet.Kind.PDF,
        sha256=sha256(b"%PDF").hexdigest(),
        size=4,
    )
    sheet.file.save("sheet.pdf", ContentFile(b"%PDF"))
    return sheet


def seated_judge(panel: Panel) -> Judge:
    """Return the instructor's seat on the panel."""
    instructor = Person.objects.get(email=PEOPLE["instructor"])
    judge = invite_judge(
        actor=panel.made_by,
        panel=panel,
        full_name=instructor.full_name,
        email=instructor.email,
    )
    return take_seat(
        actor=instructor, judge=judge, qualifications="Teaches it.", interests="Teaches it."
    )


def address(name: str, world: dict[str, Any]) -> str:
    """Return the address of ``name`` for the objects of the trainee."""
    run, enrolment, attempt = world["run"], world["enrolment"], world["attempt"]
    person, record = enrolment.person, world["record"]
    by_object: dict[str, dict[str, Any]] = {
        "program": {"pk": world["program"].pk},
        "panel_new": {"pk": world["program"].pk},
        "program_coverage": {"pk": world["program"].pk},
        "standard": {"pk": world["program"].pk},
        "standard_seal": {"pk": world["program"].pk},
        "sealed_standard": {"pk": world["standard"].pk},
        "task_sheet": {"pk": world["standard"].pk},
        "task_sheet_pdf": {"pk": world["standard"].pk},
        "task_sheet_draft": {"pk": world["program"].pk},
        "assessors": {"pk": world["program"].pk},
        "assessor": {"pk": world["program"].pk, "person": world["sitting"].assessor_id},
        "reference_new": {"pk": world["program"].pk},
        "reference": {"pk": world["piece"].pk},
        "reference_retire": {"pk": world["piece"].pk},
        "sitting_start": {"pk": world["piece"].pk},
        "sitting": {"pk": world["sitting"].pk},
        "sitting_criterion": {"pk": world["sitting"].pk, "key": "arris"},
        "sitting_finish": {"pk": world["sitting"].pk},
        "panel_recommendation": {"pk": world["panel"].pk},
        "panel_adopt": {"pk": world["panel"].pk},
        "panel_report": {"pk": world["panel"].pk},
        "panel_ratings": {"pk": world["panel"].pk, "kind": "csv"},
        "program_evidence": {"pk": world["program"].pk},
        "evidence": {"pk": world["standard"].pk},
        "evidence_make": {"pk": world["standard"].pk},
        "evidence_report": {"pk": world["evidence"].pk},
        "evidence_pdf": {"pk": world["evidence"].pk},
        "evidence_tables": {"pk": world["evidence"].pk, "form": "csv"},
        "site_pack_renew": {"pk": world["pack"].pk},
        "site_photo": {"sha256": world["photo"].sha256},
        "photo": {"pk": world["photo"].pk},
        "pack_close": {"pk": world["pack"].pk},
        "set_aside": {"pk": world["set_aside"].pk},
        "device_loss": {"pk": world["loss"].pk},
        "set_password": {"uidb64": "MQ", "token": "no-token"},
        "run_withdraw": {"pk": enrolment.pk},
        "attempt_start": {"pk": enrolment.pk},
        "score_sheet_pdf": {"pk": enrolment.pk},
        "enrolment_paper": {"pk": enrolment.pk},
        "paper_sheet": {"pk": world["paper"].pk},
        "person": {"pk": person.pk},
        "person_link": {"pk": person.pk},
        "role_take": {"pk": world["taught_by"].person_id, "role": world["taught_by"].pk},
        "record_issue": {"pk": world["decision"].pk},
        "record": {"number": record.number},
        "record_suspend": {"number": record.number},
        "record_restore": {"number": record.number},
        "record_withdraw": {"number": record.number},
        "record_withdrawal": {"number": record.number},
        "record_correct": {"number": record.number},
        "issuer_keys": {"pk": record.provider_id},
        "key_compromise": {"pk": record.provider_id, "sha256": record.certificate_sha256},
        "issue_doubtful": {"pk": record.provider_id},
        "record_pdf": {"number": record.number},
        "record_competency": {"number": record.number},
        "check_record": {"number": record.number},
        "check_record_json": {"number": record.number},
        "check_root": {"pk": record.provider_id},
        "check_credential": {"number": record.number},
        "issuer_controller": {"pk": record.provider_id},
        "issuer_status": {"pk": record.provider_id, "purpose": "suspension", "number": 1},
        "issuer_crl": {"pk": record.provider_id},
        **crew_objects(world),
        **course_objects(world),
        **second_look_objects(world),
    }
    if name in by_object:
        return reverse(name, kwargs=by_object[name])
    seat = world["seat"]
    if name in ("panel_judge_link", "panel_stand_down"):
        return reverse(name, kwargs={"pk": seat.panel_id, "judge": seat.pk})
    if name == "judging_subject":
        return reverse(name, kwargs={"seat": seat.pk, "kind": "criterion", "key": "arris"})
    if name.startswith("judging_"):
        return reverse(name, kwargs={"seat": seat.pk})
    if name.startswith("panel") and name != "panel_new":
        return reverse(name, kwargs={"pk": seat.panel_id})
    if name == "attempt_score_subject":
        kwargs = {"pk": attempt.pk, "kind": "criterion", "key": "arris"}
        return reverse(name, kwargs=kwargs)
    if name.startswith("attempt"):
        return reverse(name, kwargs={"pk": attempt.pk})
    if name == "run" or (name.startswith("run_") and name not in ("run_list", "run_new")):
        return reverse(name, kwargs={"pk": run.pk})
    return reverse(name)


def names(patterns: Iterable[URLPattern | URLResolver]) -> Iterator[str | None]:
    """Yield the name of every address, however deep it is included."""
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            yield from names(pattern.url_patterns)
        else:
            yield pattern.name


def test_every_address_has_a_row() -> None:
    assert set(names(get_resolver().url_patterns)) == set(TABLE)


def test_each_role_at_each_address(world: dict[str, Any]) -> None:
    people = {role: Person.objects.get(email=email) for role, email in PEOPLE.items()}
    people["stranger"] = world["stranger"]
    signed_in = {role: cookies_of(person) for role, person in people.items()}
    found, links = {}, []
    with plain_records(), plain_sheets(), plain_drawings():
        for name, (method, _) in TABLE.items():
            answers = [visit(name, method, signed_in.get(role), world) for role in ROLES]
            found[name] = (method, tuple(status for status, _ in answers))
            for role, (_, led) in zip(ROLES, answers, strict=True):
                links += [(role, name, path) for path in led]
    assert found == TABLE
    # No page leads anybody to one that refuses them.
    read = {address(name, world): name for name, (method, _) in TABLE.items() if method == "get"}
    refused = {
        (role, page, read[path])
        for role, page, path in links
        if path in read and TABLE[read[path]][1][ROLES.index(role)] in REFUSED
    }
    assert not refused
    # Whoever is not signed in is sent to sign in, and to nothing else.
    for name, (_, statuses) in TABLE.items():
        if statuses[-1] == SIGN_IN and name != "sign_out":
            response = Client().get(address(name, world))
            if response.status_code != 405:  # what is only sent, and by anybody
                assert response.headers["Location"].startswith(reverse("sign_in")), name


def cookies_of(person: Person) -> SimpleCookie:
    """Return the cookies of somebody who has signed in."""
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client.cookies


def visit(
    name: str, method: str, cookies: SimpleCookie | None, world: dict[str, Any]
) -> tuple[int, set[str]]:
    """Return what whoever has ``cookies`` is answered with: the status, and where it leads.

    What it wrote is undone.
    """
    client = Client()
    client.cookies.update(cookies or {})
    with rolled_back():
        response = getattr(client, method)(address(name, world))
        if response.streaming:  # a file that is not read to its end stays open
            for _ in response.streaming_content:
                pass
            return int(response.status_code), set()
        page = response.headers.get("Content-Type", "").startswith("text/html")
        led = (
            {link.partition("#")[0].partition("?")[0] for link in LINK.findall(response.text)}
            if page
            else set()
        )
        return int(response.status_code), led
