"""Describing posts: one by one in a form, and many from a file."""

import uuid
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import content_disposition_header
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from certificates.actions.projects import (
    ChangedMeanwhile,
    PostRefused,
    add_post,
    change_post,
    remove_post,
    values_of,
)
from certificates.actions.projects.postfile import Plan, PostsRefused, load_posts, plan_posts
from certificates.forms.posts import PostForm, PostsFileForm, ProgramChoice
from certificates.models import Post, Project
from certificates.postfile import posts_csv as written
from certificates.queries.projects import post_rows, row_of, rules_by_program
from certificates.views.projects import seal, unsealed, visible_project
from training.errors import Refused
from training.models import Person, Program
from training.views.refusals import show
from training.views.sent import sent
from training.views.who import person_of

FILE_PAGE = "certificates/crew/projects/posts_file.html"
OTHER_PROGRAM = N_(
    "The conditions below are now those of the program that you chose: look at them, then save."
)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def post_new(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Add a post: its program first, then what that program's rules ask about."""
    person = person_of(request)
    project = visible_project(person, pk)
    program = _program(request.POST if request.method == "POST" else request.GET, "program")
    shown = _program(request.POST, "shown") or program
    if shown is None:
        choice = ProgramChoice(request.GET if "program" in request.GET else sent(request))
        return render(
            request,
            "certificates/crew/projects/post_choose.html",
            {"project": project, "form": choice},
            status=422 if choice.errors else 200,
        )
    form = _form(request, program or shown, shown)
    if not form.is_bound:
        form.initial.setdefault("starts_on", project.starts_on)
        form.initial.setdefault("ends_on", project.ends_on)
    elif form.is_valid():
        try:
            post = add_post(actor=person, project=project, values=form.values())
        except PostRefused as refused:
            form.show(refused.faults)
        except Refused as refused:
            show(form, refused)
        else:
            messages.success(request, _("Post {code} is added.").format(code=post.code))
            return redirect("project", project.pk)
    return _post_page(request, project, form, {"title": _("New post"), "submit": _("Add the post")})


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def post_edit(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Change a post; whoever was slower learns what is different now."""
    person, post = _visible_post(request, pk)
    chosen = _program(request.POST if request.method == "POST" else request.GET, "program")
    program = chosen or post.program
    form = _form(request, program, _program(request.POST, "shown") or program, post)
    values = values_of(post)
    context: dict[str, Any] = {
        "title": _("Change post {code}").format(code=post.code),
        "submit": _("Save the post"),
        "post": post,
        "seen": request.POST.get("seen") or seal(values.document()),
    }
    if request.method != "POST":
        form.take_over(values)
    elif form.is_bound and form.is_valid():
        try:
            change_post(
                actor=person, post=post, seen=unsealed(context["seen"]), values=form.values()
            )
        except ChangedMeanwhile as changed:
            show(form, changed)
            context |= {"seen": seal(changed.now), "differences": changed.differences}
        except PostRefused as refused:
            form.show(refused.faults)
        except Refused as refused:
            show(form, refused)
        else:
            messages.success(
                request, _("Post {code} is saved.").format(code=form.cleaned_data["code"])
            )
            return redirect("project", post.project_id)
    return _post_page(request, post.project, form, context)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def post_remove(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Remove a post, unless a day list has somebody at it."""
    person, post = _visible_post(request, pk)
    refused = None
    if request.method == "POST":
        try:
            remove_post(actor=person, post=post)
        except Refused as error:
            refused = error.message
        else:
            messages.success(request, _("Post {code} is removed.").format(code=post.code))
            return redirect("project", post.project_id)
    row = row_of(post, rules_by_program([post.program_id]).get(post.program_id))
    return render(
        request,
        "certificates/crew/projects/post_remove.html",
        {"project": post.project, "row": row, "refused": refused},
        status=422 if refused else 200,
    )


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def posts_file(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Look at what a CSV file would do, with every fault; then save all of it."""
    person = person_of(request)
    project = visible_project(person, pk)
    form = PostsFileForm(sent(request), request.FILES or None)
    context: dict[str, Any] = {"project": project, "form": form}
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            text = form.cleaned_data["text"]
            try:
                plan: Plan | None = _planned(request, person, project, text)
            except PostsRefused as refused:
                plan, context["refused"] = refused.plan, refused.message
            except Refused as refused:
                show(form, refused)
                plan = None
            if form.errors:
                return render(request, FILE_PAGE, context, status=422)
            if plan is None:
                return redirect("project", project.pk)
            status = 422 if plan.faults or "refused" in context else 200
            context |= _looked_at(plan, text, form.guessed)
    return render(request, FILE_PAGE, context, status=status)


@require_safe
@never_cache
def posts_csv(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Give out the posts as a file that posts_file takes."""
    project = visible_project(person_of(request), pk)
    values = [values_of(row.post) for row in post_rows(project)]
    rules = rules_by_program(each.program.pk for each in values)
    name = f"posts-{slugify(project.name)[:60] or 'project'}.csv"
    header = content_disposition_header(True, name) or "attachment"
    return HttpResponse(
        written(values, rules),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": header},
    )


def _visible_post(request: HttpRequest, pk: uuid.UUID) -> tuple[Person, Post]:
    """Return who asks and a post of a visible project; Http404 otherwise."""
    person = person_of(request)
    posts = Post.objects.select_related("program__provider", "lead_program__provider")
    post = get_object_or_404(posts, pk=pk)
    post.project = visible_project(person, post.project_id)
    return person, post


def _program(data: Any, name: str) -> Program | None:
    """Return the program whose id was sent, if there is one."""
    try:
        pk = uuid.UUID(data.get(name, ""))
    except ValueError:
        return None
    return Program.objects.select_related("provider").filter(pk=pk).first()


def _form(
    request: HttpRequest, program: Program, shown: Program, post: Post | None = None
) -> PostForm:
    """Return the form with the conditions of ``program``; ``shown`` were those on the page.

    When another program was chosen, what was typed is shown again with its conditions.
    """
    also = [post.program_id, post.lead_program_id] if post else []
    rules = rules_by_program([program.pk]).get(program.pk)
    other = "choose" in request.POST or program != shown
    data = None if other else sent(request)
    form = PostForm(data, program=program, rules=rules, also=also)
    if other and request.method == "POST":
        form.take_over_typed(request.POST)
        if "choose" not in request.POST:
            form.moved = _(OTHER_PROGRAM)
    return form


def _post_page(
    request: HttpRequest, project: Project, form: PostForm, context: dict[str, Any]
) -> HttpResponse:
    bad = bool(form.is_bound and form.errors) or bool(form.moved)
    return render(
        request,
        "certificates/crew/projects/post_form.html",
        {**context, "project": project, "form": form},
        status=422 if bad else 200,
    )


def _planned(request: HttpRequest, person: Person, project: Project, text: str) -> Plan | None:
    """Return what the text would do, or None once it is done."""
    if "save" not in request.POST:
        return plan_posts(project=project, text=text)
    done = load_posts(actor=person, project=project, text=text, state=request.POST.get("state", ""))
    messages.success(
        request,
        _("Saved: {new} new, {changed} changed, {same} as before.").format(
            new=done.count("new"), changed=done.count("changed"), same=done.count("same")
        ),
    )
    return None


def _looked_at(plan: Plan, text: str, guessed: str | None) -> dict[str, Any]:
    """Return what the page shows of a plan; its posts are not saved."""
    rules = rules_by_program(row.values.program.pk for row in plan.rows)
    planned = [
        (row, row_of(row.values.write_to(row.post), rules.get(row.values.program.pk)))
        for row in plan.rows
    ]
    form = PostsFileForm(initial={"text": text})
    form.fields["text"].label = _("The file, to correct")
    return {"form": form, "plan": plan, "planned": planned, "text": text, "guessed": guessed}
