"""Taking a program over for another site, with the limits that hold there."""

from django.db import transaction
from django.utils.translation import gettext as _

from assessments.actions.programs import load_program_file
from assessments.programfile.adapting import Adaptation, adapted, field_of, unconfirmed
from assessments.programfile.faults import ProgramFileError
from assessments.programfile.reading import read_program
from assessments.queries.program_document import program_document
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Material, Organisation, Person, Program

FILENAME = "the copy"


class NotCopied(Refused):
    """Nothing was copied; ``faults`` holds (field or None, sentence), all of them at once."""

    def __init__(self, faults: list[tuple[str | None, str]]) -> None:
        super().__init__(faults[0][1], field=faults[0][0])
        self.faults = faults


@transaction.atomic
def copy_program(*, actor: Person, program: Program, typed: Adaptation) -> Program:
    """Load ``program`` as a version of its own, adapted, not sealed; return it.

    With the same code it is the next version, with another one the first. Materials come along
    as they stand now. Raises PermissionDenied for anyone but a lead of the provider; NotCopied
    with every fault at the field of the form: what the program file does not allow, a changed
    limit or dimension without its source, a code that another program has.
    """
    require_lead(actor, program.provider)
    Organisation.objects.select_for_update().get(pk=program.provider_id)  # one copy at a time
    before = program_document(program)
    text = adapted(before, typed, _version(program, typed.code))
    try:
        after = read_program(text, FILENAME).document
    except ProgramFileError as error:
        raise NotCopied([field_of(fault) for fault in error.faults]) from error
    missing: list[tuple[str | None, str]] = [*unconfirmed(before, after, typed)]
    if missing:
        raise NotCopied(missing)
    loaded = load_program_file(
        actor=actor, provider=program.provider, source=text, filename=FILENAME
    )
    if loaded.change != "created":
        raise Refused(_("Somebody else loaded this version just now: send the page once more."))
    _bring_materials(actor, program, loaded.program)
    write_log(
        actor=actor,
        verb="program.copied",
        subject=loaded.program,
        data={"from": str(program.pk), "code": program.code, "version": program.version},
    )
    return loaded.program


def _version(program: Program, code: str) -> int:
    """Return the version that a copy under ``code`` has; refuse the code of another program."""
    versions = Program.objects.filter(provider=program.provider_id, code=code)
    last = versions.order_by("-version").first()
    if last is not None and code != program.code:
        raise NotCopied(
            [
                (
                    "code",
                    _(
                        "{code} is another program of yours, {title}. Write a code that is "
                        "free, or {code_2} for its next version."
                    ).format(code=code, title=last.title, code_2=program.code),
                )
            ]
        )
    return last.version + 1 if last is not None else 1


def _bring_materials(actor: Person, program: Program, copy: Program) -> None:
    """Let the copy have the newest version of each material: the same file, not stored twice."""
    newest: dict[tuple[str, str], Material] = {}
    for row in program.materials.order_by("version"):
        newest[row.module_key, row.title] = row
    for row in newest.values():
        Material.objects.create(
            program=copy,
            module_key=row.module_key,
            title=row.title,
            version=1,
            name=row.name,
            file=row.file.name,
            sha256=row.sha256,
            size=row.size,
            uploaded_by=actor,
        )
