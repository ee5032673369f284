"""The texts of the pages that a device keeps, in the language of whoever uses it."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils.translation import get_language, gettext
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers

from training.device_words import WORDS
from training.shell import fresh

ENGLISH = "en"


@login_not_required
@require_safe
@gzip_page
@vary_on_headers("Accept-Language", "Cookie")
def device_words(request: HttpRequest) -> HttpResponse:
    """Answer {lang, words}: each English text with what stands for it; English needs none.

    The pages themselves are the same for everybody, since a device keeps them byte for byte.
    """
    language = get_language() or ENGLISH
    words: dict[str, str] = {}
    if language.split("-")[0] == ENGLISH:
        language = ENGLISH
    else:
        told = ((text, gettext(text)) for text in WORDS)
        words = {text: said for text, said in told if said != text}
    answer = JsonResponse(
        {"lang": language, "words": words}, json_dumps_params={"ensure_ascii": False}
    )
    return fresh(answer)
