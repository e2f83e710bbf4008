"""The program's addresses and the floor of a tick: a signed-in view, four inserts and an update, one transaction."""

import uuid

from django.db import transaction
from django.db.models import F
from django.http import JsonResponse
from django.urls import include, path
from django.views.decorators.csrf import csrf_exempt

from shop import clock
from shop.people.models import Throttle


@csrf_exempt
def least(request):
    if not request.person:
        return JsonResponse({}, status=401)
    with transaction.atomic():
        rows = [
            Throttle.objects.create(scope="bench", key=str(uuid.uuid4()), window=clock.now())
            for _ in range(4)
        ]
        Throttle.objects.filter(pk=rows[0].pk).update(count=F("count") + 1)
    return JsonResponse({"ok": True})


urlpatterns = [path("bench/least/", least), path("", include("shop.urls"))]
