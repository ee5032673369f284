"""One training provider with everybody who can be around it; all names are invented."""

from dataclasses import dataclass

from tests.factories import (
    enrol,
    make_organisation,
    make_person,
    make_program,
    make_role,
    make_run,
)
from training.models import CourseRun, Employment, Enrolment, Organisation, Person, Program


@dataclass
class Yard:
    """A provider with two programs, two runs and one trainee, who works for ``firm``."""

    provider: Organisation
    lead: Person
    teacher: Person
    other_teacher: Person
    manager: Person
    trainee: Person
    stranger: Person
    firm: Organisation
    other_firm: Organisation
    program: Program
    run: CourseRun
    other_run: CourseRun
    enrolment: Enrolment


def make_yard() -> Yard:
    """Return a provider whose ``teacher`` teaches ``run``, where ``trainee`` is enrolled."""
    provider = make_organisation(name=None)
    firm, other_firm = make_organisation("contractor"), make_organisation("contractor")
    teacher, other_teacher = (make_role("instructor", provider) for _ in range(2))
    program = make_program(provider)
    run = make_run(program, instructors=(teacher,))
    other_run = make_run(make_program(provider), instructors=(other_teacher,))
    trainee = make_person("Aranka Felsőházi")
    Employment.objects.create(person=trainee, organisation=firm, since="2024-03-01")
    return Yard(
        provider=provider,
        lead=make_role("lead", provider),
        teacher=teacher,
        other_teacher=other_teacher,
        manager=make_role("contractor", firm),
        trainee=trainee,
        stranger=make_person(),
        firm=firm,
        other_firm=other_firm,
        program=program,
        run=run,
        other_run=other_run,
        enrolment=enrol(run, trainee, firm),
    )
