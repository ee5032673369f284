"""Reference pieces: work whose scores were agreed beforehand."""

from collections.abc import Mapping
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_

from assessments.actions.constraints import violated
from assessments.engine.canonical import digest
from assessments.engine.errors import EngineError
from assessments.engine.judge import judge
from assessments.engine.standard import load_standard
from assessments.models import ReferencePiece, SealedStandard
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Person

Agreed = Mapping[str, Mapping[str, Any]]
LONGEST = {"title": 200, "description": 4000, "agreed_by": 300}
EMPTY = {
    "title": N_("Write a title, such as the place that the piece was cut from."),
    "description": N_("Write what the piece is and where it is kept."),
    "agreed_by": N_("Write who agreed on the scores, and when."),
}
TITLE_TAKEN = N_("Another reference piece under this standard has this title: choose another.")
FIXED = N_(
    "Somebody began to score this piece, so its agreed scores stay as they are. Retire it and "
    "add another one."
)


@transaction.atomic
def add_reference_piece(
    *,
    actor: Person,
    standard: SealedStandard,
    title: str,
    description: str,
    agreed: Agreed,
    agreed_by: str,
) -> ReferencePiece:
    """Add a piece of work with its agreed scores and return it.

    ``agreed`` maps the key of a criterion to the value agreed on (engine/FORMATS.md); criteria
    may be left out. Raises PermissionDenied for anyone but a lead of the provider; Refused at a
    text's field, at the key of a criterion whose value it cannot have, at ``agreed`` when there
    is none, or at ``title`` when it is taken.
    """
    require_lead(actor, standard.program.provider)
    texts = _texts(title=title, description=description, agreed_by=agreed_by)
    values = check_agreed(standard, agreed)
    try:
        with transaction.atomic():
            piece = ReferencePiece.objects.create(
                standard=standard, agreed=values, made_by=actor, **texts
            )
    except IntegrityError as error:
        raise _refusal(error) from error
    _log(actor, "reference.added", piece)
    return piece


@transaction.atomic
def change_reference_piece(
    *,
    actor: Person,
    piece: ReferencePiece,
    title: str,
    description: str,
    agreed: Agreed,
    agreed_by: str,
) -> ReferencePiece:
    """Change a piece; its agreed scores only while nobody has begun to score it.

    Raises what add_reference_piece raises, and Refused for a retired piece or at ``agreed``
    when the agreed scores would change after a sitting began.
    """
    require_lead(actor, piece.standard.program.provider)
    locked = _locked(piece)
    texts = _texts(title=title, description=description, agreed_by=agreed_by)
    values = check_agreed(locked.standard, agreed)
    fixed = (locked.agreed, locked.agreed_by) != (values, texts["agreed_by"])
    if fixed and locked.sittings.exists():
        raise Refused(FIXED, field="agreed")
    for name, text in texts.items():
        setattr(locked, name, text)
    locked.agreed = values
    try:
        with transaction.atomic():
            locked.save(update_fields=["title", "description", "agreed", "agreed_by"])
    except IntegrityError as error:
        raise _refusal(error) from error
    _log(actor, "reference.changed", locked)
    return locked


@transaction.atomic
def retire_reference_piece(*, actor: Person, piece: ReferencePiece) -> ReferencePiece:
    """Take a piece out of use: nobody begins to score it any more; what was scored still counts.

    Raises PermissionDenied for anyone but a lead of the provider, Refused when it is retired.
    """
    require_lead(actor, piece.standard.program.provider)
    locked = _locked(piece)
    locked.retired_at = timezone.now()
    locked.save(update_fields=["retired_at"])
    _log(actor, "reference.retired", locked)
    return locked


def check_agreed(standard: SealedStandard, agreed: Agreed) -> dict[str, Any]:
    """Return ``agreed`` as it is stored; Refused at the criterion's key, or at ``agreed``."""
    loaded = load_standard(standard.document)
    if not agreed:
        raise Refused(_("Enter the agreed score of at least one criterion."), field="agreed")
    for key, value in agreed.items():
        if key not in loaded.positions:
            raise Refused(_("The standard has no criterion {key}.").format(key=key), field=key)
        try:
            result = judge(loaded.criterion(key), value).result
        except EngineError as error:
            raise Refused(f"{loaded.criterion(key).title}: {error}", field=key) from error
        if result == "missing":
            raise Refused(
                _("{title}: enter the whole score, or leave it out.").format(
                    title=loaded.criterion(key).title
                ),
                field=key,
            )
    return {key: dict(value) for key, value in agreed.items()}


def _texts(**given: str) -> dict[str, str]:
    texts = {name: text.strip() for name, text in given.items()}
    for name, text in texts.items():
        if not text:
            raise Refused(EMPTY[name], field=name)
        if len(text) > LONGEST[name]:
            raise Refused(
                _("This has {text_count} characters: keep it to {longest}.").format(
                    text_count=len(text), longest=LONGEST[name]
                ),
                field=name,
            )
    return texts


def _locked(piece: ReferencePiece) -> ReferencePiece:
    pieces = ReferencePiece.objects.select_for_update(of=("self",))
    locked = pieces.select_related("standard__program__provider").get(pk=piece.pk)
    if locked.retired_at is not None:
        raise Refused(_("This reference piece is retired: nothing of it changes."))
    return locked


def _refusal(error: IntegrityError) -> Exception:
    name = violated(error)
    if name == "reference_title_once":
        return Refused(TITLE_TAKEN, field="title")
    return Refused(FIXED, field="agreed") if name == "reference_fixed_once_scored" else error


def _log(actor: Person, verb: str, piece: ReferencePiece) -> None:
    write_log(
        actor=actor,
        verb=verb,
        subject=piece,
        data={
            "standard_digest": piece.standard.digest,
            "agreed_digest": digest(piece.agreed),
        },
    )
