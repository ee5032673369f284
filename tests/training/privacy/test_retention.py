"""The command deletes what is over, and nothing a day younger; what only grows stays."""

from datetime import UTC, date, datetime, timedelta
from io import StringIO
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.utils import timezone

from certificates.models import WrongNumber
from tests.training.privacy.world import paper
from tests.training.yard import make_yard
from training.models import HeldDocument, PersonFeed, Reaction
from training.privacy.retention import apply_retention, table

NOW = datetime(2026, 11, 29, 12, 0, tzinfo=UTC)


def days(key: str) -> timedelta:
    """Return how long the table keeps this."""
    return timedelta(days=next(each.days or 0 for each in table()[1] if each.key == key))


def said(*options: str) -> str:
    """Run the command; return what it printed."""
    out = StringIO()
    call_command("retention", *options, stdout=out)
    return out.getvalue()


def test_what_is_over_goes_and_what_is_a_day_younger_stays(db: None) -> None:
    for late in (timedelta(hours=-1), timedelta(hours=1)):
        WrongNumber.objects.create(source="a" * 64, at=NOW - days("checks") + late)
    assert [over.rows for entry, over in apply_retention(now=NOW, only_look=True) if over.rows] == [
        1
    ]
    assert WrongNumber.objects.count() == 2
    apply_retention(now=NOW, only_look=False)
    assert [each.at for each in WrongNumber.objects.all()] == [
        NOW - days("checks") + timedelta(hours=1)
    ]


def test_files_of_papers_go_after_the_expiry_and_the_row_stays(db: None) -> None:
    yard, today = make_yard(), timezone.localdate()
    for over in (400, 300):
        paper(
            yard.trainee,
            yard.provider,
            yard.teacher,
            issued_on=date(2020, 1, 1),
            expires_on=today - timedelta(days=over),
        )
    assert "papers: 1, 1 files (365 days)" in said("--dry-run")
    assert HeldDocument.objects.exclude(file="erased").count() == 2
    assert "papers: 1, 1 files (365 days)" in said()
    gone, kept = HeldDocument.objects.order_by("expires_on")
    assert (gone.file.name, gone.number, len(gone.sha256)) == ("erased", "SI-4471", 64)
    root = Path(settings.MEDIA_ROOT)
    assert [str(each.relative_to(root)) for each in root.rglob("*.pdf")] == [kept.file.name]
    assert "papers: 0" in said()


def test_of_old_reactions_the_numbers_stay(db: None) -> None:
    run, today = make_yard().run, timezone.localdate()
    answers = {"useful": 4, "better": "Warmer gloves, said Ana."}
    for old in (1100, 1000):
        Reaction.objects.create(run=run, answers=answers, on=today - timedelta(days=old))
    assert "reactions: 1 (1095 days)" in said()
    assert [each.answers for each in Reaction.objects.order_by("on")] == [{"useful": 4}, answers]


def test_an_address_in_use_stays(db: None) -> None:
    yard = make_yard()
    PersonFeed.objects.create(person=yard.trainee, token_sha256="1" * 64)
    PersonFeed.objects.create(
        person=yard.trainee,
        token_sha256="2" * 64,
        revoked_at=timezone.now() - days("calendars") - timedelta(days=1),
    )
    assert "calendars: 1" in said()
    assert [each.token_sha256[0] for each in PersonFeed.objects.all()] == ["1"]
