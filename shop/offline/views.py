"""Where a tablet's outbox is emptied. Answers are JSON that carries `bay: 1`, so that no other page passes for ours."""

import uuid

from django.core.exceptions import RequestDataTooBig
from django.http import HttpResponse, JsonResponse, UnreadablePostError
from django.views.decorators.csrf import csrf_exempt

from shop import clock, press
from shop.offline import message, origin, uploads
from shop.offline.take import Gap, Revoked, take
from shop.people import doors
from shop.people.models import Tablet
from shop.photos.models import Upload
from shop.reasons import Reason, Refused
from shop.refusals import as_dicts

PIECE = "application/offset+octet-stream"


@csrf_exempt
@doors.sync(takes="POST")
def entries(request):
    """POST takes entries; GET tells the next number, which a tablet that was wiped has to ask for."""
    if request.method in ("GET", "HEAD"):
        return _next_number(request)
    foreign = _foreign(request, "application/json")
    if foreign:
        return foreign
    try:
        return _take_all(request, message.read(_body(request)))
    except message.Unfit as fault:
        return _fault(str(fault), fault.status)
    except Revoked:
        return _fault("This tablet must be enrolled again. Nothing on it is lost.", 401, "tablet_revoked")


@csrf_exempt
@doors.sync(takes="PATCH")
def upload(request, pk):
    """HEAD tells how many bytes are here; PATCH adds the next ones."""
    if request.method == "PATCH":
        foreign = _foreign(request, PIECE)
        if foreign:
            return foreign
    elif not origin.may_read(request):
        return _fault("This was not sent by a page of this shop.", 403, "foreign_page")
    row = Upload.objects.of(request.workshop).filter(pk=_uuid(pk)).select_related("workshop").first()
    if row is None:
        return _fault("No entry has announced this photo yet.", 404, "not_announced")
    try:
        if request.method == "PATCH":
            row = uploads.add(row, _offset(request), _body(request), now=clock.now())
    except message.Unfit as fault:
        return _fault(str(fault), fault.status)
    except uploads.WrongOffset as wrong:
        return _state(wrong.row, 409)
    except uploads.WrongBytes as wrong:
        return _refused(wrong.row, [Reason("photo_digest", str(wrong))])
    except Refused as refused:
        row.refresh_from_db()
        return _refused(row, refused.reasons)
    except press.PressBusy as busy:
        return _fault(str(busy), 503, "busy")
    answer = _state(row, 200)
    if request.method == "HEAD":
        answer.content = b""
    return answer


def _take_all(request, told: message.Message) -> JsonResponse:
    results, expect = [], None
    for sent in told.entries:
        try:
            results.append(take(request.tablet.pk, sent, told, now=clock.now()))
        except Gap as gap:
            expect = gap.expect
            break
    if not told.entries or any(_is_reused(result) for result in results):
        expect = _next(request.tablet)
    _report(request.tablet, told, results)
    answer = {"bay": 1, "tablet": request.tablet.pk, "results": results}
    return JsonResponse(answer | ({"expect": expect} if expect else {}))


def _report(tablet: Tablet, told: message.Message, results: list[dict]) -> None:
    """What this tablet still holds: its own count where it gave one, less what was just taken."""
    held = len(told.entries) if told.unsent is None else max(told.unsent, len(told.entries))
    taken = sum(not _is_reused(result) for result in results)
    Tablet.objects.filter(pk=tablet.pk).update(unsent=max(0, held - taken), seen_at=clock.now())


def _is_reused(result: dict) -> bool:
    return any(reason["code"] == "seq_reused" for reason in result["reasons"])


def _next(tablet: Tablet) -> int:
    return Tablet.objects.get(pk=tablet.pk).last_seq + 1


def _next_number(request) -> JsonResponse:
    if not origin.may_read(request):
        return _fault("This was not sent by a page of this shop.", 403, "foreign_page")
    tablet = request.tablet.pk
    return JsonResponse({"bay": 1, "tablet": tablet, "results": [], "expect": _next(request.tablet)})


def _foreign(request, content_type: str) -> JsonResponse | None:
    if not origin.is_ours(request):
        return _fault("This was not sent by a page of this shop.", 403, "foreign_page")
    if request.content_type != content_type:
        return _fault(f"Send this as {content_type}.", 415)
    return None


def _body(request) -> bytes:
    try:
        return request.body
    except RequestDataTooBig:
        raise message.Unfit("This is too much at once.", 413) from None
    except (UnreadablePostError, ValueError):
        raise message.Unfit("This did not arrive whole.") from None


def _offset(request) -> int:
    text = request.headers.get("Upload-Offset", "")
    if not (text.isascii() and text.isdecimal() and len(text) <= 12):
        raise message.Unfit("The piece does not say where it belongs.")
    return int(text)


def _uuid(text: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(text)
    except ValueError:
        return None


def _state(row: Upload, status: int) -> HttpResponse:
    """How far an upload is. A refused one says so, so that its bytes are not sent again."""
    if row.refused:
        return _refused(row, [Reason(row.refused_code or "photo_unreadable", row.refused)])
    answer = {"bay": 1, "offset": row.received, "size": row.size, "done": row.photo_id is not None}
    return JsonResponse(answer, status=status, headers=_headers(row))


def _refused(row: Upload, reasons: list[Reason]) -> JsonResponse:
    answer = {"bay": 1, "offset": row.received, "size": row.size, "done": False, "reasons": as_dicts(reasons)}
    return JsonResponse(answer, status=422, headers=_headers(row))


def _headers(row: Upload) -> dict[str, str]:
    return {"Upload-Offset": str(row.received), "Upload-Length": str(row.size), "Cache-Control": "no-store"}


def _fault(text: str, status: int, code: str = "entry_unclear") -> JsonResponse:
    reasons = [{"code": code, "text": text, "weight": "stop", "where": ""}]
    return JsonResponse({"bay": 1, "reasons": reasons}, status=status)
