"""A refusal that no view caught, a database too busy, a full disk: each ends as a sentence, with what was typed."""

import logging
import sys

from django.http import HttpResponse, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.views.defaults import server_error

from shop.reasons import Reason, Refused
from shop.trouble import Trouble, trouble_of

log = logging.getLogger("shop")
SECRET = ("pin", "password", "again")
OURS = ("csrfmiddlewaretoken",)


def as_dicts(reasons) -> list[dict]:
    return [{"code": r.code, "text": r.text, "weight": str(r.weight), "where": r.where} for r in reasons]


def refused(request, reasons, *, back="", status=409):
    return render(request, "refused.html", {"reasons": reasons, "back": back or request.path}, status=status)


def troubled(request, trouble: Trouble) -> HttpResponse:
    """The page about it, or for a tablet's outbox the same as JSON; both say when to try again."""
    if request.path.startswith("/sync/"):
        reasons = as_dicts([Reason(trouble.code, f"{trouble.text} The tablet tries again by itself.")])
        answer = JsonResponse({"bay": 1, "reasons": reasons}, status=trouble.status)
    else:
        text = render_to_string("trouble.html", {"trouble": trouble, **_typed(request)}, request=request)
        answer = HttpResponse(text, status=trouble.status)
    answer["Retry-After"] = str(trouble.retry_s)
    answer["Cache-Control"] = "no-store"
    return answer


def broken(request):
    """Whatever failed so early or late that no view was running, and every fault of the program itself."""
    trouble = trouble_of(sys.exc_info()[1])
    if trouble is None:
        return server_error(request)
    log.error("%s at %s: %s", trouble.code, request.path, first_line(sys.exc_info()[1]))
    return troubled(request, trouble)


def first_line(error: BaseException) -> str:
    """A database tells the values it choked on in the lines after the first; those are nobody's business in a log."""
    return str(error).partition("\n")[0][:200]


def _typed(request) -> dict:
    """What a form held, to be sent again as it was. A PIN is never written into a page; photos are not in it either."""
    if request.method != "POST":
        return {}
    sent = [(name, value) for name, values in request.POST.lists() for value in values if name not in OURS]
    again = [(name, value) for name, value in sent if not _is_secret(name)]
    secrets = [(name, _asked(name, [each for each, _ in sent])) for name, _ in sent if _is_secret(name)]
    return {"again": again, "secrets": secrets, "files": list(request.FILES)}


def _asked(name: str, sent: list[str]) -> str:
    """What a secret is called when it is asked once more; where it is changed, old and new are told apart."""
    thing = "Password" if any("password" in each for each in sent) else "PIN"
    if name == "again":
        return f"New {thing if thing == 'PIN' else 'password'} again"
    if name.startswith("old_"):
        return f"{thing} now"
    if f"old_{name}" in sent:
        return f"New {thing if thing == 'PIN' else 'password'}"
    return f"{'Password' if 'password' in name else 'PIN'} once more"


def _is_secret(name: str) -> bool:
    return any(name == word or name.endswith(f"_{word}") for word in SECRET)


def _process_exception(request, exception):
    if isinstance(exception, Refused):
        if request.path.startswith("/sync/"):
            return JsonResponse({"bay": 1, "reasons": as_dicts(exception.reasons)}, status=409)
        return refused(request, exception.reasons, back=request.META.get("HTTP_REFERER", ""))
    trouble = trouble_of(exception)
    if trouble is None:
        return None
    log.warning("%s at %s: %s", trouble.code, request.path, first_line(exception))
    return troubled(request, trouble)


def refusals_are_sentences(get_response):
    def middleware(request):
        return get_response(request)

    middleware.process_exception = _process_exception
    return middleware
