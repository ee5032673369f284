"""Sealing: the moment after which a passing standard cannot change."""

from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from assessments.engine.canonical import digest
from assessments.engine.errors import EngineError
from assessments.engine.standard import sealing_faults
from assessments.models import SealedStandard
from assessments.programfile.standard import program_path, standard_from_program
from assessments.queries.coverage import coverage_of
from assessments.queries.panel.fixed import panel_faults
from assessments.queries.program_document import program_document
from assessments.standard_document import with_panel
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Person, Program

ONE_OF = {"criteria": "criterion", "outcomes": "outcome", "stages": "stage", "levels": "level"}


class NotReady(Refused):
    """A standard cannot be sealed yet; ``faults`` holds a sentence for each thing to mend."""

    def __init__(self, program: Program, faults: list[str]) -> None:
        self.faults = tuple(faults)
        super().__init__(
            "\n".join((_("{program} cannot be sealed yet.").format(program=program), *faults))
        )


@transaction.atomic
def seal_standard(*, actor: Person, program: Program, read: str | None = None) -> SealedStandard:
    """Seal the standard of a program as its rows say it now, and return it.

    ``read`` is the digest of the draft that the lead was shown, if any. Raises
    PermissionDenied for anyone but a lead of the provider, NotReady where an outcome is not
    taught or not assessed, a module teaches nothing, a panel is at work, the draft is not what
    the last panel judged and the lead adopted, or the engine finds the standard unfit, Refused
    when this very standard is sealed already, nothing is loaded, or the draft is not the one
    that was read.
    """
    require_lead(actor, program.provider)
    # The same lock as loading: what is read here cannot be replaced before it is sealed.
    locked = Program.objects.select_for_update(of=("self",)).get(pk=program.pk)
    document = program_document(locked)
    faults = [*panel_faults(locked, document), *faults_in(document)]
    if faults:
        raise NotReady(locked, faults)
    standard = with_panel(locked, document)
    fingerprint = digest(standard)
    earlier = locked.standards.filter(digest=fingerprint).first()
    if earlier is not None:
        raise Refused(
            _("This standard is sealed already, as standard {serial}.").format(
                serial=earlier.serial
            )
        )
    if read is not None and read != fingerprint:
        raise Refused(_("The draft was changed after you opened this page. Read it again below."))
    last = locked.standards.aggregate(last=Max("serial"))["last"] or 0
    sealed = SealedStandard.objects.create(
        program=locked,
        serial=last + 1,
        document=standard,
        digest=fingerprint,
        sealed_by=actor,
    )
    write_log(
        actor=actor,
        verb="standard.sealed",
        subject=sealed,
        data={"program": str(locked.pk), "serial": sealed.serial, "digest": fingerprint},
    )
    return sealed


def faults_in(document: dict[str, Any]) -> list[str]:
    """Return a sentence for each gap in coverage and each fault that the engine finds."""
    gaps = [gap.sentence for gap in coverage_of(document).gaps]
    unserved = {f"outcomes[{number}]" for number in range(len(document["outcomes"]))}
    return gaps + [
        _sentence(error, document)
        for error in sealing_faults(standard_from_program(document))
        if error.path not in unserved  # the gaps name these already
    ]


def _sentence(error: EngineError, document: dict[str, Any]) -> str:
    """Return an engine's fault at, for example, ``criterion joint_width, instrument``."""
    names: list[str] = []
    part: Any = document
    for step in program_path(error.path):
        if isinstance(step, str):
            part = part.get(step) if isinstance(part, dict) else None
            names.append(step)
            continue
        part = part[step]
        key = part.get("key", step + 1)
        names[-1] = f"{ONE_OF.get(names[-1], names[-1])} {key}"
    place = ", ".join(name for name in names if name != "task")
    return f"{place}: {error.message}" if place else error.message
