"""A refusal that no view caught, a database too busy, an object that is not there: each ends as a sentence."""

import logging

from django.db import OperationalError
from django.http import JsonResponse
from django.shortcuts import render

from shop.reasons import Refused

log = logging.getLogger("shop")


def as_dicts(reasons) -> list[dict]:
    return [{"code": r.code, "text": r.text, "weight": str(r.weight), "where": r.where} for r in reasons]


def refused(request, reasons, *, back="", status=409):
    return render(request, "refused.html", {"reasons": reasons, "back": back or request.path}, status=status)


def _process_exception(request, exception):
    if isinstance(exception, Refused):
        if request.path.startswith("/sync/"):
            return JsonResponse({"bay": 1, "reasons": as_dicts(exception.reasons)}, status=409)
        return refused(request, exception.reasons, back=request.META.get("HTTP_REFERER", ""))
    if isinstance(exception, OperationalError) and "locked" in str(exception):
        log.warning("database locked at %s", request.path)
        answer = render(request, "503.html", status=503)
        answer["Retry-After"] = "2"
        return answer
    return None


def refusals_are_sentences(get_response):
    def middleware(request):
        return get_response(request)

    middleware.process_exception = _process_exception
    return middleware
