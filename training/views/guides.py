"""Guides of pages, and cards to print."""

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as N_
from django.views.decorators.http import require_POST, require_safe

from training.actions.guides import put_away
from training.documents.render import Paper, render_pdf
from training.errors import Refused
from training.fixture_texts import reader_language
from training.guides.texts import cards, guides
from training.views.who import person_of

TITLE = N_("Quick cards for the scaffold")


@require_safe
def help_page(request: HttpRequest) -> HttpResponse:
    """Show every guide, and the cards."""
    person_of(request)
    context = {"guides": guides().values(), "cards": cards()}
    return render(request, "training/help.html", context)


@require_safe
def quick_cards(request: HttpRequest) -> HttpResponse:
    """Send the cards as a PDF to print."""
    person_of(request)
    asked = request.GET.get("paper", settings.RECORD_PAPER)
    paper: Paper = "a4" if asked == "a4" else "letter"
    pdf = render_pdf(
        "documents/quick_cards.html",
        {"cards": cards()},
        paper=paper,
        title=_(TITLE),
        language=reader_language(),
    )
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="quick-cards.pdf"'
    return response


@require_POST
def guide_put_away(request: HttpRequest, key: str) -> HttpResponse:
    """Put a guide away, and go back to its page."""
    try:
        put_away(actor=person_of(request), guide=key)
    except Refused as refused:
        raise Http404(refused.message) from None
    messages.info(request, _("The guide is put away. The “?” on the page shows it again."))
    following = request.POST.get("next", "")
    if url_has_allowed_host_and_scheme(following, allowed_hosts=None):
        return redirect(following)
    return redirect("home")
