"""Loading a program from its file: all of it, or nothing."""

from dataclasses import dataclass
from typing import Any, Literal

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from assessments.actions.constraints import violated
from assessments.models import (
    Criterion,
    CriterionOutcome,
    PassRule,
    PracticalTask,
    QualificationRules,
    SecondLookRules,
    Stage,
)
from assessments.programfile.faults import Fault, ProgramFileError
from assessments.programfile.reading import ProgramFile, read_program
from assessments.queries.panel.fixed import adoption_of, panel_at_work
from assessments.queries.program_document import program_document
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.digests import digest
from training.errors import Refused
from training.models import Module, Organisation, Outcome, Person, Program, ProgramPrerequisite

Change = Literal["created", "replaced", "unchanged"]
SECOND_LOOK = ("retake", "review")
OWN_FIELDS = ("title", "changes", "needs", "purpose", "scope", "validity_months", "unit")


@dataclass(frozen=True)
class Loaded:
    """The program that a file was loaded into, and what that changed."""

    program: Program
    change: Change


def load_program(
    *, actor: Person, provider: Organisation, source: bytes | str, filename: str
) -> Program:
    """Load a program file and return its program; see ``load_program_file``."""
    return load_program_file(
        actor=actor, provider=provider, source=source, filename=filename
    ).program


def load_program_file(
    *, actor: Person, provider: Organisation, source: bytes | str, filename: str
) -> Loaded:
    """Create the program version that a file describes, or replace the parts of an unsealed one.

    A file that says what is stored already changes nothing and writes no log row. Raises
    PermissionDenied for anyone but a lead of ``provider``, ProgramFileError with every fault of
    the file at its line, also where the version is sealed, or a panel judges or judged it, and
    the file says something else.
    """
    require_lead(actor, provider)
    if provider.kind != Organisation.Kind.PROVIDER:
        raise Refused(
            _("{provider} is no training provider and cannot hold programs.").format(
                provider=provider
            )
        )
    file = read_program(source, filename)
    try:
        with transaction.atomic():
            return _load(actor, provider, file)
    except IntegrityError as error:
        if violated(error) != "program_version_once":
            raise
        message = _("somebody else loaded this version just now; load the file once more")
        raise _refused(file, "version", message) from error


def _load(actor: Person, provider: Organisation, file: ProgramFile) -> Loaded:
    document = file.document
    program, created = _locked_program(provider, document)
    if not created:
        if _stored(program) == document:
            return Loaded(program, "unchanged")
        if program.standards.exists():
            message = _(
                "version {version} is sealed and cannot change any more; "
                "write version: {next_version}"
            ).format(version=program.version, next_version=_next_version(program))
            raise _refused(file, "version", message)
        _refuse_before_panel(program, file)
        _clear(program, document)
    _write_parts(program, document)
    write_log(
        actor=actor,
        verb="program.loaded" if created else "program.replaced",
        subject=program,
        data={
            "code": program.code,
            "version": program.version,
            "file": file.filename,
            "digest": digest(document),
        },
    )
    return Loaded(program, "created" if created else "replaced")


def _refuse_before_panel(program: Program, file: ProgramFile) -> None:
    """Refuse to change under a panel what it judges, or what was adopted of it."""
    busy, adoption = panel_at_work(program), adoption_of(program)
    if busy is not None:
        message = _(
            "panel {number} is at work on version {version}, which must not change "
            "under it; write version: {next_version}, or end the panel first"
        ).format(number=busy.number, version=program.version, next_version=_next_version(program))
        raise _refused(file, "version", message)
    if adoption is not None:
        message = _(
            "the passing standard of version {version} was adopted of panel "
            "{number} and stays as it is; write version: {next_version}"
        ).format(
            version=program.version,
            number=adoption.panel.number,
            next_version=_next_version(program),
        )
        raise _refused(file, "version", message)


def _locked_program(provider: Organisation, document: dict[str, Any]) -> tuple[Program, bool]:
    """Return the program version, locked, and whether it was made just now.

    Sealing takes the same lock, so that what is sealed cannot be replaced meanwhile.
    """
    place = {"code": document["code"], "version": document["version"]}
    found = (
        Program.objects.select_for_update(of=("self",)).filter(provider=provider, **place).first()
    )
    if found is not None:
        return found, False
    own = {name: document[name] for name in OWN_FIELDS}
    return Program.objects.create(provider=provider, **place, **own), True


def _stored(program: Program) -> dict[str, Any] | None:
    """Return the program's document, or None where it was never loaded whole."""
    try:
        return program_document(program)
    except Refused:
        return None


def _next_version(program: Program) -> int:
    versions = Program.objects.filter(provider=program.provider_id, code=program.code)
    return max(versions.values_list("version", flat=True)) + 1


def _refused(file: ProgramFile, name: str, message: str) -> ProgramFileError:
    mark = file.marks.nearest((name,))
    return ProgramFileError(file.filename, [Fault(mark.line, mark.column, mark.label, message)])


def _clear(program: Program, document: dict[str, Any]) -> None:
    """Take away the parts of an unsealed version and set its own fields anew."""
    PracticalTask.objects.filter(program=program).delete()
    PassRule.objects.filter(program=program).delete()
    QualificationRules.objects.filter(program=program).delete()
    SecondLookRules.objects.filter(program=program).delete()
    program.prerequisites.all().delete()
    program.modules.all().delete()
    program.outcomes.all().delete()
    for name in OWN_FIELDS:
        setattr(program, name, document[name])
    program.save()


def _write_parts(program: Program, document: dict[str, Any]) -> None:
    ProgramPrerequisite.objects.bulk_create(
        ProgramPrerequisite(
            program=program,
            position=position,
            applies=each["for"],
            **{name: each[name] for name in ("key", "title", "accepts", "source")},
        )
        for position, each in enumerate(document["prerequisites"], start=1)
    )
    outcomes = _write_outcomes(program, document["outcomes"])
    for position, module in enumerate(document["modules"], start=1):
        own = {name: value for name, value in module.items() if name != "teaches"}
        row = Module.objects.create(program=program, position=position, **own)
        row.outcomes.set(outcomes[key] for key in module["teaches"])
    _write_task(program, document["task"], outcomes)
    PassRule.objects.create(program=program, document=document["pass_rule"])
    if document["qualification"] is not None:
        QualificationRules.objects.create(program=program, document=document["qualification"])
    second_look = {name: document[name] for name in SECOND_LOOK}
    if any(rule is not None for rule in second_look.values()):
        SecondLookRules.objects.create(program=program, **second_look)


def _write_outcomes(program: Program, documents: list[dict[str, Any]]) -> dict[str, Outcome]:
    rows = Outcome.objects.bulk_create(
        Outcome(
            program=program,
            position=position,
            key=outcome["key"],
            statement=outcome["statement"],
            minimum=outcome["minimum"] or "",
        )
        for position, outcome in enumerate(documents, start=1)
    )
    return {row.key: row for row in rows}


def _write_task(program: Program, document: dict[str, Any], outcomes: dict[str, Outcome]) -> None:
    own = ("title", "brief", "cautions", "conditions", "dimensions", "sheet")
    task = PracticalTask.objects.create(program=program, **{name: document[name] for name in own})
    rows = Stage.objects.bulk_create(
        Stage(task=task, position=position, **stage)
        for position, stage in enumerate(document["stages"], start=1)
    )
    stages = {row.key: row for row in rows}
    criteria = Criterion.objects.bulk_create(
        _criterion(task, stages, position, criterion)
        for position, criterion in enumerate(document["criteria"], start=1)
    )
    CriterionOutcome.objects.bulk_create(
        CriterionOutcome(criterion=row, outcome=outcomes[key], weight=weight)
        for row, criterion in zip(criteria, document["criteria"], strict=True)
        for key, weight in criterion["serves"].items()
    )


def _criterion(
    task: PracticalTask, stages: dict[str, Stage], position: int, document: dict[str, Any]
) -> Criterion:
    columns = ("key", "title", "kind", "critical", "not_applicable", "weight", "guidance")
    return Criterion(
        task=task,
        stage=stages[document["stage"]],
        position=position,
        **{name: document[name] for name in columns},
        definition={
            name: value
            for name, value in document.items()
            if name not in (*columns, "stage", "serves")
        },
    )
