"""Who may open which address. A view without a door does not start: the route list and the tests read it here."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import wraps

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseNotAllowed, JsonResponse

STAFF_ROLES = ("installer", "inspector", "desk", "owner")
DESK = ("desk", "owner")
OWNER = ("owner",)


READ = ("GET", "HEAD")
# For pages that only send on to another.
BAY_SENDS_ON = dict.fromkeys(("tablet", *STAFF_ROLES), 302)
DESK_SENDS_ON = dict.fromkeys(DESK, 302)
PEOPLE = ("stranger", "tablet", "installer", "inspector", "desk", "owner", "other")


@dataclass(frozen=True)
class Door:
    """`kind` is public, staff, bay (staff or an enrolled tablet) or sync (a tablet alone).

    `methods` are those the view takes. `answers` are statuses of a GET that do not follow from the kind: of a
    page that only sends on, say, or one that is gone after the first start.
    """

    kind: str
    roles: tuple[str, ...] = STAFF_ROLES
    methods: tuple[str, ...] = READ
    answers: Mapping[str, int] = field(default_factory=dict)

    def answer(self, who: str, *, of_something: bool = False) -> int:
        """The status a GET gets. `who` is one of PEOPLE; other is the owner of another workshop.

        `of_something`: the address names a thing of this workshop, which for another one is not there.
        """
        if who in self.answers:
            return self.answers[who]
        if self.kind == "public":
            return 200
        if self.kind == "sync":
            return 200 if who == "tablet" else 401
        if who == "stranger" or (who == "tablet" and self.kind == "staff"):
            return 302
        if who == "tablet":
            return 200
        if who == "other":
            return 404 if of_something else 200
        return 200 if who in self.roles else 403


def _keep(view: Callable, door: Door, check: Callable[[HttpRequest], object]) -> Callable:
    @wraps(view)
    def guarded(request, *args, **kwargs):
        refused = check(request)
        if refused:
            return refused
        if request.method not in door.methods:
            return HttpResponseNotAllowed(door.methods)
        return view(request, *args, **kwargs)

    guarded.door = door
    return guarded


def _door(kind: str, posts: bool, answers: Mapping[str, int] | int = 0, **more) -> Door:
    """`answers` by person, or one status for everybody."""
    methods = (*READ, "POST") if posts else READ
    if isinstance(answers, int):
        answers = dict.fromkeys(PEOPLE, answers) if answers else {}
    return Door(kind, methods=methods, answers=answers, **more)


def _with_or_without(make: Callable) -> Callable:
    """A decorator that may be given options, or stand alone."""

    @wraps(make)
    def decorator(view=None, **options):
        return make(view, **options) if view else lambda view: make(view, **options)

    return decorator


@_with_or_without
def public(view, *, posts: bool = False, answers: Mapping[str, int] | int = 0):
    return _keep(view, _door("public", posts, answers), lambda request: None)


def staff(*roles: str, posts: bool = False, answers: Mapping[str, int] | int = 0):
    door = _door("staff", posts, answers, roles=roles or STAFF_ROLES)

    def check(request):
        if request.person is None:
            return redirect_to_login(request.get_full_path())
        if not request.person.has(*door.roles):
            raise PermissionDenied
        return None

    return lambda view: _keep(view, door, check)


@_with_or_without
def bay(view, *, posts: bool = False, answers: Mapping[str, int] | int = 0):
    def check(request):
        if request.person is None and request.tablet is None:
            return redirect_to_login(request.get_full_path())
        return None

    return _keep(view, _door("bay", posts, answers), check)


@_with_or_without
def sync(view, *, takes: str):
    """A tablet's own address. 401 tells it to be enrolled again; it never deletes anything for it."""

    def check(request):
        if request.tablet is None:
            code = "tablet_revoked" if request.tablet_revoked else "not_enrolled"
            text = "This tablet must be enrolled again. Nothing on it is lost."
            return JsonResponse({"bay": 1, "reasons": [{"code": code, "text": text}]}, status=401)
        if request.method not in (*READ, takes):
            text = f"Ask with GET, send with {takes}."
            answer = {
                "bay": 1,
                "reasons": [{"code": "entry_unclear", "text": text, "weight": "stop", "where": ""}],
            }
            return JsonResponse(answer, status=405, headers={"Allow": ", ".join((*READ, takes))})
        return None

    return _keep(view, Door("sync", methods=(*READ, takes)), check)
