"""People whom a lead looks after, and organisations."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from training.actions.passwords import make_password_link
from training.actions.people import (
    add_organisation,
    add_person,
    change_employer,
    require_any_lead,
    take_role,
)
from training.forms.people import EmployerForm, OrganisationForm, PersonForm
from training.models import Person
from training.queries.people import organisation_rows, people_rows, roles_given_by
from training.queries.scope import (
    enrolments_visible_to,
    people_visible_to,
    provider_organisations,
)
from training.views.refusals import act, act_or_say
from training.views.sent import sent
from training.views.who import person_of

PAGE = 50


@require_safe
def people(request: HttpRequest) -> HttpResponse:
    """Show people, searched by name or address, and the organisations."""
    lead = person_of(request)
    require_any_lead(lead)
    search = request.GET.get("search", "").replace("\x00", "").strip()[:100]
    page = Paginator(people_rows(lead, search), PAGE).get_page(request.GET.get("page"))
    return render(
        request,
        "training/people.html",
        {
            "page": page,
            "search": search,
            "organisations": organisation_rows(),
            "providers": provider_organisations(lead),
        },
    )


@require_http_methods(["GET", "HEAD", "POST"])
def person_new(request: HttpRequest) -> HttpResponse:
    """Give a role to a person."""
    lead = person_of(request)
    require_any_lead(lead)
    form = PersonForm(sent(request), lead=lead)
    if request.method == "POST" and form.is_valid():
        person = act(form, add_person, actor=lead, **form.cleaned_data)
        if person is not None:
            messages.success(
                request,
                _("{person} has the role. Next, make a password link.").format(person=person),
            )
            return redirect("person", person.pk)
    return render(
        request, "training/person_new.html", {"form": form}, status=422 if form.errors else 200
    )


@require_http_methods(["GET", "HEAD", "POST"])
def organisation_new(request: HttpRequest) -> HttpResponse:
    """Make a contractor or owner known."""
    lead = person_of(request)
    require_any_lead(lead)
    form = OrganisationForm(sent(request))
    if request.method == "POST" and form.is_valid():
        organisation = act(form, add_organisation, actor=lead, **form.cleaned_data)
        if organisation is not None:
            messages.success(
                request, _("{organisation} is added.").format(organisation=organisation)
            )
            return redirect("people")
    return render(
        request,
        "training/organisation_new.html",
        {"form": form},
        status=422 if form.errors else 200,
    )


@require_http_methods(["GET", "HEAD", "POST"])
def person(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a person; POST changes the employer."""
    lead, found = _looked_after(request, pk)
    form = _employer_form(found, request)
    if request.method == "POST" and form.is_valid():
        act(form, change_employer, actor=lead, person=found, **form.cleaned_data)
        if not form.errors:
            messages.success(request, _("The employer of {found} is changed.").format(found=found))
            return redirect("person", found.pk)
    return _person_page(request, lead, found, form)


@require_POST
@never_cache
def person_link(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a link by which the person sets a password, and show it this once."""
    lead, found = _looked_after(request, pk)
    parts = act_or_say(request, make_password_link, actor=lead, person=found)
    if parts is None:
        return redirect("person", found.pk)
    link = request.build_absolute_uri(reverse("set_password", kwargs=parts))
    return _person_page(request, lead, found, _employer_form(found), link=link)


@require_POST
def role_take(request: HttpRequest, pk: int, role: int) -> HttpResponse:
    """Take a role away."""
    lead, found = _looked_after(request, pk)
    held = get_object_or_404(roles_given_by(lead, found), pk=role)
    act_or_say(request, take_role, actor=lead, role=held)
    if people_visible_to(lead).filter(pk=found.pk).exists():
        return redirect("person", found.pk)
    return redirect("people")


def _looked_after(request: HttpRequest, pk: int) -> tuple[Person, Person]:
    lead = person_of(request)
    return lead, get_object_or_404(people_visible_to(lead), pk=pk)


def _employer_form(found: Person, request: HttpRequest | None = None) -> EmployerForm:
    current = found.employments.filter(until__isnull=True).first()
    return EmployerForm(
        sent(request) if request else None,
        initial={"employer": current.organisation_id if current else None},
    )


def _person_page(
    request: HttpRequest, lead: Person, found: Person, form: EmployerForm, link: str = ""
) -> HttpResponse:
    enrolments = enrolments_visible_to(lead).filter(person=found)
    return render(
        request,
        "training/person.html",
        {
            "found": found,
            "form": form,
            "link": link,
            "roles": found.roles.select_related("organisation").order_by("kind"),
            "takeable": {role.pk for role in roles_given_by(lead, found)},
            "employments": found.employments.select_related("organisation"),
            "enrolments": enrolments.select_related("run__program", "run__site", "employer"),
        },
        status=422 if form.errors else 200,
    )
