"""Who works here, and each person's own secrets."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.cache import never_cache

from shop import clock
from shop.pages import page
from shop.people import actions, passwords
from shop.people import pin as pins
from shop.people.desk import settle
from shop.people.doors import OWNER, bay, staff
from shop.people.forms import (
    ConfirmForm,
    NewPersonForm,
    OwnPasswordForm,
    OwnPinForm,
    PersonForm,
    ResetPasswordForm,
    ResetPinForm,
)
from shop.people.models import Person

HERE = {"here": "shop"}


@staff(*OWNER)
def people(request):
    everybody = Person.objects.filter(workshop=request.workshop).for_list()
    working = [row for row in everybody if not row.left_at]
    gone = [row for row in everybody if row.left_at]
    return page(request, "people/people.html", HERE | {"working": working, "gone": gone})


@staff(*OWNER, posts=True)
@never_cache
def new_person(request):
    form = NewPersonForm(
        request.POST or None,
        initial={"pin": pins.fresh(request.workshop.pin_length), "roles": ["installer"]},
    )

    def act(told, by):
        given = {name: told[name] or None for name in ("pin", "password")}
        row = actions.add_person(
            workshop=request.workshop, name=told["name"], roles=told["roles"], **given, by=by, now=clock.now()
        )
        messages.success(request, f"{row.name} works here now.")
        return reverse("people")

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    return page(request, "people/new_person.html", HERE | {"form": form}, status=form.status)


@staff(*OWNER, posts=True)
def person(request, person):
    row = _theirs(request, person)
    form = PersonForm(request.POST or None, initial={"name": row.name, "roles": sorted(row.role_set)})

    def act(told, by):
        actions.change_person(person=row, name=told["name"], roles=told["roles"], by=by, now=clock.now())
        return reverse("people")

    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    return page(request, "people/person.html", HERE | {"row": row, "form": form}, status=form.status)


@staff(*OWNER, posts=True)
@never_cache
def reset_pin(request, person):
    row = _theirs(request, person)
    if row == request.person:
        return redirect("own-pin")
    form = ResetPinForm(request.POST or None, initial={"pin": pins.fresh(request.workshop.pin_length)})

    def act(told, by):
        actions.set_pin(person=row, pin=told["pin"], by=by, now=clock.now())
        messages.success(request, f"{row.name} has a new PIN.")
        return reverse("person", args=[row.pk])

    return _act_page(request, row, form, act, "people/reset_pin.html")


@staff(*OWNER, posts=True)
@never_cache
def reset_password(request, person):
    row = _theirs(request, person)
    if row == request.person:
        return redirect("own-password")
    form = ResetPasswordForm(request.POST or None)

    def act(told, by):
        actions.set_password(person=row, password=told["password"], by=by, now=clock.now())
        messages.success(request, f"{row.name} has a new password.")
        return reverse("person", args=[row.pk])

    return _act_page(request, row, form, act, "people/reset_password.html")


@staff(*OWNER, posts=True)
def leave(request, person):
    row = _theirs(request, person)
    form = ConfirmForm(request.POST or None)

    def act(told, by):
        actions.leave(person=row, by=by, now=clock.now())
        messages.success(request, f"{row.name} has left. Sessions, password and PIN ended with it.")
        return reverse("people")

    return _act_page(request, row, form, act, "people/leave.html")


@staff()
def me(request):
    return page(request, "people/me.html", HERE)


@staff(posts=True)
@never_cache
def own_password(request):
    form = OwnPasswordForm(request.POST or None)

    def act(told, by):
        actions.set_password(person=request.person, password=told["password"], by=by, now=clock.now())
        messages.success(request, "Your password is changed.")
        return reverse("me")

    def prove(told):
        return passwords.prove_password(request.person, told["old_password"], now=clock.now())

    if request.method == "POST" and (done := settle(request, form, act, prove=prove)):
        request.user.refresh_from_db()
        update_session_auth_hash(request, request.user)
        return done
    return page(request, "people/own_password.html", HERE | {"form": form}, status=form.status)


@bay(posts=True)
@never_cache
def own_pin(request):
    people = Person.objects.here(request.workshop)
    form = OwnPinForm(request.POST or None, people=people, me=request.person)

    def who(told):
        return request.person or told["who"]

    def prove(told):
        return pins.prove(who(told), told["old_pin"], now=clock.now(), tablet=request.tablet)

    def act(told, by):
        actions.set_pin(person=who(told), pin=told["pin"], by=by, now=clock.now())
        messages.success(request, f"{who(told).name} has a new PIN.")
        return reverse("me") if request.person else "/bay/"

    if request.method == "POST" and (done := settle(request, form, act, prove=prove)):
        return done
    return page(request, "people/own_pin.html", HERE | {"form": form}, status=form.status)


def _theirs(request, pk: int) -> Person:
    return get_object_or_404(Person.objects.for_list(), pk=pk, workshop=request.workshop, left_at=None)


def _act_page(request, row, form, act, template):
    if request.method == "POST" and (done := settle(request, form, act)):
        return done
    return page(request, template, HERE | {"row": row, "form": form}, status=form.status)
