"""What is said of missing papers when people are enrolled or set to teach; nothing is refused."""

from collections.abc import Iterable

from django.contrib import messages
from django.http import HttpRequest
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from training.models import CourseRun, Enrolment, Person
from training.queries.fit import Applies, day_of_judging, unfit, unqualified


def warn_of_enrolled(request: HttpRequest, enrolment: Enrolment) -> None:
    """Say on the next page which papers for the course the person lacks."""
    run = enrolment.run
    missing = unfit([enrolment], run.program, day_of_judging(run), Applies.COURSE)
    for reasons in missing.values():
        said = " ".join(each.reason for each in reasons)
        messages.warning(
            request,
            _("{person} lacks papers for the course. {said}").format(
                person=enrolment.person, said=said
            ),
        )


def warn_of_list(request: HttpRequest, run: CourseRun) -> None:
    """Say on the next page how many of the run's enrolled people lack papers for the course."""
    enrolled = run.enrolments.filter(state=Enrolment.State.ENROLLED)
    number = len(unfit(enrolled, run.program, day_of_judging(run), Applies.COURSE))
    if number:
        messages.warning(
            request,
            ngettext(
                "1 enrolled trainee lacks papers for the course: the page of papers of this run "
                "names them.",
                "{count} enrolled trainees lack papers for the course: the page of papers of this "
                "run names them.",
                number,
            ).format(count=number),
        )


def warn_of_teachers(request: HttpRequest, run: CourseRun, people: Iterable[Person]) -> None:
    """Say on the next page who is to teach without a qualification that holds."""
    for person in unqualified(people, run.program.provider, day_of_judging(run)):
        messages.warning(
            request,
            _(
                "{person} has shown no instructor's qualification that holds. Look at it and enter "
                "it "
                "among the papers of {person}; the program's own demands come first."
            ).format(person=person),
        )
