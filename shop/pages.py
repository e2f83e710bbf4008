"""Answering with a page, or with one of its parts, and what every page knows."""

from django.http import HttpResponse
from django.shortcuts import render

from shop import clock


def page(request, template, context=None, *, parts=frozenset(), status=200):
    """The whole page, or the part named by `?part=` where this page allows it; 400 for any other part."""
    wanted = request.GET.get("part")
    if wanted is not None:
        if wanted not in parts:
            return HttpResponse("No such part.", status=400, content_type="text/plain")
        template = f"{template}#{wanted}"
    return render(request, template, context or {}, status=status)


def common(request):
    return {
        "person": getattr(request, "person", None),
        "tablet": getattr(request, "tablet", None),
        "workshop": getattr(request, "workshop", None),
        "now": clock.now(),
    }
