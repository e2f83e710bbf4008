"""Who may open which address. A view without a door does not start: the route list and the tests read it here."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, JsonResponse

STAFF_ROLES = ("installer", "inspector", "desk", "owner")
DESK = ("desk", "owner")
OWNER = ("owner",)


@dataclass(frozen=True)
class Door:
    """`kind` is public, staff, bay (staff or an enrolled tablet) or sync (a tablet alone)."""

    kind: str
    roles: tuple[str, ...] = STAFF_ROLES

    def answer(self, who: str) -> int:
        """The status a GET gets: who is stranger, tablet or a role."""
        if self.kind == "public":
            return 200
        if self.kind == "sync":
            return 200 if who == "tablet" else 401
        if who == "stranger" or (who == "tablet" and self.kind == "staff"):
            return 302
        if who == "tablet":
            return 200
        return 200 if who in self.roles else 403


def _keep(view: Callable, door: Door, check: Callable[[HttpRequest], object]) -> Callable:
    @wraps(view)
    def guarded(request, *args, **kwargs):
        return check(request) or view(request, *args, **kwargs)

    guarded.door = door
    return guarded


def public(view):
    return _keep(view, Door("public"), lambda request: None)


def staff(*roles: str):
    door = Door("staff", roles or STAFF_ROLES)

    def check(request):
        if request.person is None:
            return redirect_to_login(request.get_full_path())
        if not request.person.has(*door.roles):
            raise PermissionDenied
        return None

    return lambda view: _keep(view, door, check)


def bay(view):
    def check(request):
        if request.person is None and request.tablet is None:
            return redirect_to_login(request.get_full_path())
        return None

    return _keep(view, Door("bay"), check)


def sync(view):
    """A tablet's own address. 401 tells it to be enrolled again; it never deletes anything for it."""

    def check(request):
        if request.tablet is None:
            code = "tablet_revoked" if request.tablet_revoked else "not_enrolled"
            text = "This tablet must be enrolled again. Nothing on it is lost."
            return JsonResponse({"bay": 1, "reasons": [{"code": code, "text": text}]}, status=401)
        return None

    return _keep(view, Door("sync"), check)
