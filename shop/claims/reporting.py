"""A fault is reported, photographed before anybody touches it, and its glue side is read."""

from collections.abc import Iterable
from datetime import date
from zoneinfo import ZoneInfo

from django.db import transaction

from shop.claims.judging import CLOSED, waits_for, words_for
from shop.claims.models import Claim, ClaimPhoto, GlueReading
from shop.claims.numbers import next_number
from shop.claims.place import Place, certificate_of, place_of
from shop.documents.rights import must_be_allowed
from shop.intake.models import Vehicle
from shop.intake.typed import Typed
from shop.people.identity import By
from shop.photos.models import Photo
from shop.reasons import Reason
from shop.record.actions import keep_private, told, write
from shop.warranty.vocabulary import terms_for, vocabulary

SAID_MOST, NOTE_MOST = 2000, 300


@transaction.atomic
def report_claim(
    *,
    vehicle: Vehicle,
    panel: str,
    symptom: str,
    noticed_on: date,
    told_on: date | None = None,
    edge: str = "",
    told_how: str = "phone",
    said: str = "",
    photos: Iterable[Photo] = (),
    by: By,
    now,
) -> Claim:
    """Somebody tells of a fault at `hood.1`: on which day it was noticed, and on which we were told (else today).

    `said` are the caller's own words, kept apart as a value about a person. Refused with every reason at once.
    """
    must_be_allowed(by, "report_claim", workshop=vehicle.workshop)
    workshop = vehicle.workshop
    today = now.astimezone(ZoneInfo(workshop.zone)).date()
    told_on = told_on or today
    typed = Typed()
    _days(typed, noticed_on, told_on, today)
    place = place_of(vehicle, panel, noticed_on)
    if place is None:
        typed.wrong("No film of ours is there, and no paper of ours is about it.", "#panel", "no_film")
    if place and edge and place.edge(edge) is None:
        typed.wrong("The film there has no such edge.", "#edge")
    typed.one_of(told_how, Claim.Way.values, sentence="Say how we were told.", where="#told_how")
    words = typed.lines(said, name="What was said", most=SAID_MOST, where="#said")
    photos = list(photos)
    _own_photos(typed, photos, workshop)
    line = _line(typed, place, symptom, noticed_on, workshop)
    if place:
        _not_open_already(typed, vehicle, place, edge, symptom)
    typed.stop()
    kept = keep_private(workshop, words) if words else None
    number = next_number(workshop, now)
    film = place.film
    body = {
        "claim": number,
        "vehicle": vehicle.pk,
        "place": film.place if film else place.panel,
        "fitting": film.pk if film else None,
        "edge": edge,
        "line": line.pk if line else None,
        "symptom": symptom,
        "noticed_on": noticed_on.isoformat(),
        "told_on": told_on.isoformat(),
        "told_how": told_how,
        "said": told(kept),
        "photos": [photo.sha256 for photo in photos],
    }
    entry = write(
        workshop=workshop, job=film.job if film else None, verb="report_claim", body=body, by=by, now=now
    )
    claim = Claim.objects.create(
        workshop=workshop,
        number=number,
        vehicle=vehicle,
        line=line,
        fitting=film,
        panel=place.panel,
        edge=place.edge(edge) if edge else None,
        symptom=symptom,
        noticed_on=noticed_on,
        told_on=told_on,
        told_how=told_how,
        said=kept,
        entry=entry,
        person=by.person,
        reported_at=now,
    )
    _keep_photos(claim, photos, entry, by, now, shot="", origin=ClaimPhoto.From.CUSTOMER)
    return claim


@transaction.atomic
def add_claim_photos(
    *, claim: Claim, photos: Iterable[Photo], shot: str = "", taken_here: bool = False, by: By, now
) -> list[ClaimPhoto]:
    """More photos of the fault: the customer's, or taken here as one of the guided shots."""
    must_be_allowed(by, "add_claim_photos", workshop=claim.workshop)
    claim = held(claim)
    typed = Typed()
    photos = list(photos)
    if not photos:
        typed.missing("Choose at least one photo.", "#photo")
    if shot:
        typed.one_of(shot, words_for(claim).shots, sentence="Say what the photo shows.", where="#shot")
    _own_photos(typed, photos, claim.workshop)
    _new_photos(typed, claim, photos)
    typed.stop()
    body = {
        "claim": claim.number,
        "shot": shot,
        "taken_here": taken_here,
        "photos": [photo.sha256 for photo in photos],
    }
    entry = note_on(claim, "add_claim_photos", body, by=by, now=now)
    origin = ClaimPhoto.From.SHOP if taken_here else ClaimPhoto.From.CUSTOMER
    return _keep_photos(claim, photos, entry, by, now, shot=shot, origin=origin)


@transaction.atomic
def add_glue_side(
    *, claim: Claim, reading: str, photos: Iterable[Photo] = (), note: str = "", by: By, now
) -> GlueReading:
    """What the glue side looks like before anybody touches it, with its photos; the cause it gives is provisional.

    A first reading wants a photo. A later one stands beside it.
    """
    must_be_allowed(by, "add_glue_side", workshop=claim.workshop)
    claim = held(claim)
    words = words_for(claim)
    typed = Typed()
    typed.one_of(reading, words.glue_side, sentence="Say what the glue side looks like.", where="#reading")
    note = typed.line(note, name="The note", most=NOTE_MOST, where="#note")
    photos = list(photos)
    glue = [key for key, shot in words.shots.items() if shot.more.get("glue")]
    if not photos and not claim.photos.filter(shot__in=glue).exists():
        text = "Take a photo of the glue side first: once the film is touched, nobody can tell any more."
        typed.wrong(text, "#photo", "photo_missing")
    _own_photos(typed, photos, claim.workshop)
    _new_photos(typed, claim, photos)
    typed.stop()
    causes = list(words.glue_side[reading].more["causes"])
    body = {
        "claim": claim.number,
        "reading": reading,
        "causes": causes,
        "note": note,
        "photos": [photo.sha256 for photo in photos],
    }
    entry = note_on(claim, "add_glue_side", body, by=by, now=now)
    shot = glue[0] if glue else ""
    _keep_photos(claim, photos, entry, by, now, shot=shot, origin=ClaimPhoto.From.SHOP)
    return GlueReading.objects.create(
        claim=claim, entry=entry, reading=reading, causes=causes, note=note, person=by.person, at=now
    )


def held(claim: Claim) -> Claim:
    """The claim, locked until the transaction ends, with its state."""
    Claim.objects.select_for_update(no_key=True).get(pk=claim.pk)
    return Claim.objects.for_page().get(pk=claim.pk)


def note_on(claim: Claim, verb: str, body: dict, *, by: By, now):
    """An entry in the book of the job that laid the film, else in the workshop's."""
    job = claim.fitting.job if claim.fitting else None
    return write(workshop=claim.workshop, job=job, verb=verb, body=body, by=by, now=now)


def _line(typed: Typed, place: Place | None, symptom: str, day: date, workshop):
    """The promise it lands on. The symptom has to be a word of the terms that promise was given under."""
    line = place.line_for((), day) if place else None
    terms = terms_for(workshop, certificate_of(line))
    words = vocabulary(terms.body if terms else None, workshop.language)
    typed.one_of(symptom, words.symptoms, sentence="Say what is wrong with the film.", where="#symptom")
    return place.line_for(words.covers(symptom), day) if place else None


def _days(typed: Typed, noticed_on: date, told_on: date, today: date) -> None:
    if noticed_on > today or told_on > today:
        typed.wrong("That day is still to come.", "#noticed_on", "day_wrong")
    elif told_on < noticed_on:
        typed.wrong("Nobody can tell of it before it was noticed.", "#told_on", "day_wrong")


def _own_photos(typed: Typed, photos: list[Photo], workshop) -> None:
    if any(photo.workshop_id != workshop.pk for photo in photos):
        typed.wrong("That photo belongs to another workshop.", "#photo", "other_workshop")


def _new_photos(typed: Typed, claim: Claim, photos: list[Photo]) -> None:
    if claim.photos.filter(photo__in=photos).exists():
        typed.wrong("This very photo is with the claim already.", "#photo", "already_recorded")


def _not_open_already(typed: Typed, vehicle: Vehicle, place: Place, edge: str, symptom: str) -> None:
    same = Claim.objects.of(vehicle.workshop).filter(
        vehicle=vehicle, panel=place.panel, fitting=place.film, symptom=symptom
    )
    same = same.filter(edge__code=edge) if edge else same.filter(edge__isnull=True)
    for claim in same.for_page():
        if waits_for(claim, [True], [True]) not in CLOSED:
            text = f"Claim {claim.number} is open about this already: add to it."
            typed.reasons.append(Reason("already_recorded", text, where=f"/claims/{claim.pk}/"))
            return


def _keep_photos(claim, photos, entry, by, now, *, shot: str, origin: str) -> list[ClaimPhoto]:
    return ClaimPhoto.objects.bulk_create(
        ClaimPhoto(claim=claim, photo=photo, entry=entry, shot=shot, origin=origin, person=by.person, at=now)
        for photo in dict.fromkeys(photos)
    )
