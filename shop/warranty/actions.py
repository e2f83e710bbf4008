"""Issuing, correcting and withdrawing certificates.

A verb freezes the facts and enters them in the book; printing comes after, outside the transaction, because it
takes a second and may fail. A revision without its paper says so and can be printed again.
"""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.db import transaction

from shop.documents.models import Document
from shop.documents.rights import must_be_allowed, roles_of
from shop.intake.keys import certificate_keys
from shop.intake.models import Job, SearchKey
from shop.people.identity import Proven, must_be_proven
from shop.people.models import Workshop
from shop.reasons import Reason, Refused, blocking
from shop.record import chain
from shop.record.actions import keep_private, write
from shop.warranty import facts as stated
from shop.warranty.models import Certificate, CoverLine, Revision, free_token
from shop.warranty.numbers import number_after
from shop.warranty.old_papers import bring_in_papers
from shop.warranty.owners import transfer_cover
from shop.warranty.rechecks import plan_recheck, record_recheck
from shop.warranty.removal import take_film_off
from shop.warranty.sending import send_again, send_papers, send_test_mail
from shop.work import gates, told
from shop.work.cases import IssueFacts
from shop.work.floor import Floor
from shop.work.kinds import Meaning
from shop.work.models.outcome import HandOver, Release

__all__ = [
    "bring_in_papers",
    "correct",
    "issue",
    "issue_reasons",
    "plan_recheck",
    "record_recheck",
    "send_again",
    "send_papers",
    "send_test_mail",
    "take_film_off",
    "terms_in_force",
    "transfer_cover",
    "withdraw",
]

WHY_MOST = 300


def issue_reasons(*, job: Job, by, floor: Floor | None = None, language: str = "en") -> list[Reason]:
    """Everything between this car and its certificate, the gaps in the terms among it."""
    floor = floor or Floor(job)
    found = stated.terms_gaps(job, terms_in_force(job.workshop), language=language)
    return _reasons(job, by, floor, found=found)


@transaction.atomic
def issue(*, job: Job, by: Proven, now: datetime, language: str = "en") -> Revision:
    """The certificate of this job, first revision. Its paper is made by `print_revision` after the commit."""
    must_be_proven(by)
    must_be_allowed(by, "issue", workshop=job.workshop)
    shop = _held(job.workshop)
    job = Job.objects.for_page().select_related("hand_over__consent__strokes", "release").get(pk=job.pk)
    floor = Floor(job)
    _refuse(issue_reasons(job=job, by=by, floor=floor, language=language))
    _keep_identity(job.vehicle)
    certificate = Certificate.objects.create(
        workshop=shop, number=_next_number(shop, now), token=free_token(), vehicle=job.vehicle, job=job
    )
    for kind, key in certificate_keys(certificate.number):
        SearchKey.objects.get_or_create(workshop=shop, vehicle=job.vehicle, kind=kind, key=key)
    return _revise(certificate, 1, floor, terms_in_force(shop), by=by, now=now, language=language)


@transaction.atomic
def correct(*, certificate: Certificate, reason: str, by: Proven, now: datetime) -> Revision:
    """A next revision with the facts as they are now, under the same terms; earlier ones stay readable."""
    must_be_proven(by)
    must_be_allowed(by, "correct_certificate", workshop=certificate.workshop)
    reason = _said(reason, "Say what this revision corrects.")
    _held(certificate.workshop)
    before = Certificate.objects.get(pk=certificate.pk).current()
    job = (
        Job.objects.for_page()
        .select_related("hand_over__consent__strokes", "release")
        .get(pk=certificate.job_id)
    )
    floor = Floor(job)
    found = stated.terms_gaps(job, before.terms, language=before.language)
    _refuse(_reasons(job, by, floor, found=found, correcting=before))
    return _revise(
        certificate,
        before.n + 1,
        floor,
        before.terms,
        by=by,
        now=now,
        language=before.language,
        reason=reason,
    )


@transaction.atomic
def withdraw(*, certificate: Certificate, why: str, by: Proven, now: datetime) -> Revision:
    """Take the certificate back: from now on its page says so, and no revision of it covers anything."""
    must_be_proven(by)
    must_be_allowed(by, "withdraw", workshop=certificate.workshop)
    why = _said(why, "Say why it is withdrawn.")
    _held(certificate.workshop)
    revision = Certificate.objects.get(pk=certificate.pk).current()
    if revision.withdrawn_at:
        raise Refused(_is_withdrawn(certificate))
    body = {"certificate": certificate.number, "revision": revision.n, "why": why}
    write(workshop=certificate.workshop, job=certificate.job, verb="withdraw", body=body, by=by, now=now)
    revision.withdrawn_at, revision.withdrawn_why = now, why
    revision.save(update_fields=["withdrawn_at", "withdrawn_why"])
    return revision


def _revise(
    certificate: Certificate,
    n: int,
    floor: Floor,
    terms: Document,
    *,
    by: Proven,
    now: datetime,
    language: str,
    reason: str = "",
) -> Revision:
    """Freeze the facts, enter their digest in the book, write revision and cover lines."""
    job = floor.job
    facts = stated.certificate_facts(
        job,
        now=now,
        language=language,
        number=certificate.number,
        token=certificate.token,
        revision=n,
        terms=terms,
        by=by.person,
        reason=reason,
        floor=floor,
    )
    text = chain.canonical(facts).decode()
    digest = chain.digest(facts)
    entry = write(
        workshop=job.workshop,
        job=job,
        verb="correct_certificate" if n > 1 else "issue",
        body={
            "certificate": certificate.number,
            "revision": n,
            "reason": reason,
            "facts_digest": digest,
            "terms": {"name": terms.name, "version": terms.version, "digest": terms.digest},
        },
        by=by,
        now=now,
    )
    revision = Revision.objects.create(
        certificate=certificate,
        n=n,
        entry=entry,
        terms=terms,
        language=language,
        facts=text,
        facts_digest=digest,
        head=facts["book"]["head"],
        head_number=facts["book"]["number"],
        zone=facts["zone"],
        reason=reason,
        issued_by=by.person,
        issued_at=now,
    )
    CoverLine.objects.bulk_create(_cover_row(revision, line) for line in facts["cover"])
    return revision


def _cover_row(revision: Revision, line: dict) -> CoverLine:
    return CoverLine(
        revision=revision,
        fitting_id=line["fitting"],
        panel=line["panel"],
        label=line["label"],
        kind=line["kind"],
        months=line["months"],
        days=line["days"],
        counting=line["counting"],
        first_day=line["first_day"],
        last_day=line["last_day"],
    )


def _reasons(
    job: Job, by, floor: Floor, *, found: list[Reason], correcting: Revision | None = None
) -> list[Reason]:
    hand_over = HandOver.objects.filter(job=job).first()
    certificate = Certificate.objects.filter(job=job).first()
    facts = IssueFacts(
        by=told.who(by),
        pieces=len(floor.pieces),
        released=_released(job, floor),
        handed_over_on=hand_over.on if hand_over else None,
        number=certificate.number if certificate else "",
        correcting=correcting is not None,
        withdrawn=bool(correcting and correcting.withdrawn_at),
        defects=tuple(defect for piece in floor.pieces for defect in told.defect_facts(floor, piece)),
        found=tuple(found),
    )
    return gates.issue_reasons(facts, roles_of(job.workshop))


def _released(job: Job, floor: Floor) -> int:
    """Pieces that carry a living signature as released, once the car itself is."""
    if not Release.objects.filter(job=job).exists():
        return 0
    return sum(piece.signoff(Meaning.RELEASED) is not None for piece in floor.pieces)


def _refuse(reasons: list[Reason]) -> None:
    stops = blocking(reasons)
    if stops:
        raise Refused(stops)


def _held(shop: Workshop) -> Workshop:
    """The workshop's row, locked until the transaction ends: numbers are given one after the other."""
    return Workshop.objects.select_for_update(no_key=True).get(pk=shop.pk)


def _next_number(shop: Workshop, now: datetime) -> str:
    today = now.astimezone(ZoneInfo(shop.zone)).date()
    number = number_after(Certificate.objects.last_number(shop, f"{today:%y}"), today)
    # An older paper that was brought in may carry the next number.
    while Certificate.objects.of(shop).filter(number=number).exists():
        number = number_after(number, today)
    return number


def _keep_identity(car) -> None:
    """The whole number of the car belongs to its owner's values, so that the facts only point to it."""
    if car.vin_private_id is None:
        car.vin_private = keep_private(car.workshop, car.identity)
        car.save(update_fields=["vin_private"])


def terms_in_force(shop: Workshop) -> Document | None:
    """The terms a certificate issued now would carry."""
    return Document.objects.in_force(shop, Document.Kind.TERMS)


def _said(text: str, sentence: str) -> str:
    text = " ".join(text.split())
    if not text:
        raise Refused(Reason("reason_missing", sentence))
    if len(text) > WHY_MOST:
        raise Refused(Reason("reason_missing", f"That is too long: say it in {WHY_MOST} characters."))
    return text


def _is_withdrawn(certificate: Certificate) -> Reason:
    return Reason("certificate_withdrawn", f"Certificate {certificate.number} was withdrawn.")
