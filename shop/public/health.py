from django.db import connection
from django.http import JsonResponse

from shop.people import doors


@doors.public
def health(request):
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return JsonResponse({"ok": True})
