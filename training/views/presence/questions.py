"""Questions of a run at the desk: writing one down, and answering."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from training.actions.questions import answer_question, ask_question
from training.forms.presence import AnswerForm, WriteDownForm
from training.queries.questions import questions_of, questions_visible_to
from training.views.refusals import act
from training.views.runs import visible_run
from training.views.sent import sent
from training.views.who import person_of


@require_http_methods(["GET", "HEAD", "POST"])
def run_questions(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show the questions of a run; POST writes one down that was asked aloud."""
    person = person_of(request)
    run = visible_run(person, pk)
    form = WriteDownForm(sent(request), run=run)
    if request.method == "POST" and form.is_valid():
        question = act(form, ask_question, actor=person, run=run, **form.cleaned_data)
        if question is not None:
            messages.success(request, _("The question is written down."))
            return redirect("run_questions", run.pk)
    context = {
        "run": run,
        "form": form,
        "questions": questions_of(run),
        "zone": run.site.time_zone,
    }
    status = 422 if form.errors else 200
    return render(request, "training/presence/questions.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
def question_answer(request: HttpRequest, pk: int) -> HttpResponse:
    """Answer a question."""
    person = person_of(request)
    questions = questions_visible_to(person).select_related(
        "run__program__provider", "run__site", "asked_by", "session"
    )
    question = get_object_or_404(questions, pk=pk)
    form = AnswerForm(sent(request))
    if request.method == "POST" and form.is_valid():
        if act(form, answer_question, actor=person, question=question, **form.cleaned_data):
            messages.success(request, _("The question is answered."))
            return redirect("run_questions", question.run_id)
    elif question.answered_at is not None:
        messages.error(request, _("This is answered already."))
        return redirect("run_questions", question.run_id)
    context = {"run": question.run, "question": question, "form": form}
    status = 422 if form.errors else 200
    return render(request, "training/presence/answer.html", context, status=status)
