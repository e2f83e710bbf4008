"""The four signings: one person, one PIN, one sentence, a sign-off for every checklist it names."""

from django.db import transaction

from shop.documents.rights import roles_of
from shop.intake.jobs import hold
from shop.people.identity import By, must_be_of, must_be_proven
from shop.photos.models import Upload
from shop.reasons import Reason, Refused, blocking
from shop.record import chain
from shop.record.actions import write
from shop.templatetags.words import in_language
from shop.work import conditions, gates, progress, told
from shop.work.cases import SignFacts
from shop.work.floor import Floor, Piece, StageOnFloor
from shop.work.kinds import STAGES_OF, Meaning
from shop.work.models.outcome import Release
from shop.work.models.proof import Signing, SignOff


@transaction.atomic
def sign(*, job, meaning: str, panels: list[str], by: By, now, screen: str = "", unsent: int = 0) -> Signing:
    """Sign one meaning (ready, hidden, laid, released) for the pieces named (`hood.1`).

    `screen` is the digest of what was shown (`screen_of`); a signing over anything open, or over a screen that
    has changed since, is refused whole. `unsent` is what the tablet itself still holds of this job.
    """
    must_be_proven(by)
    must_be_of(by, job.workshop)
    hold(job)
    floor = Floor(job)
    pieces = chosen(floor, panels)
    reasons = reasons_to_sign(floor, pieces, meaning, by, now, screen=screen, unsent=unsent)
    stops = [r for r in reasons if blocking([r], _waived(floor, pieces))]
    if stops:
        raise Refused(reasons)
    lines = frozen(floor, pieces, meaning)
    sentence = sentence_of(floor, pieces, meaning, by)
    digest = chain.digest(lines)
    entry = write(
        workshop=job.workshop,
        job=job,
        verb=f"sign_{meaning}",
        body={
            "meaning": meaning,
            "panels": [piece.place for piece in pieces],
            "sentence": sentence,
            "lines_digest": digest,
        },
        by=by,
        now=now,
    )
    signing = Signing.objects.create(
        entry=entry,
        person=by.person,
        meaning=meaning,
        language=job.workshop.language,
        sentence=sentence,
        lines=lines,
        digest=digest,
        at=now,
    )
    for piece in pieces:
        for stage in stages_of(piece, meaning):
            _sign_off(signing, stage, meaning, entry)
    if meaning == Meaning.RELEASED:
        _release(job, by, now, entry)
    return signing


def chosen(floor: Floor, panels: list[str]) -> list[Piece]:
    if not panels:
        raise Refused(Reason("nothing_to_sign", "Choose at least one panel to sign for."))
    missing = [place for place in panels if floor.piece(place) is None]
    if missing:
        raise Refused(Reason("superseded", f"{missing[0]} is not set out in this job, or was taken off it."))
    return [piece for piece in floor.pieces if piece.place in set(panels)]


def stages_of(piece: Piece, meaning: str) -> list[StageOnFloor]:
    """The stages this meaning signs; one carried from the film before stays signed by those who signed it."""
    stages = [piece.stages[stage] for stage in STAGES_OF[Meaning(meaning)]]
    return [stage for stage in stages if not stage.carried]


def reasons_to_sign(floor, pieces, meaning, by, now, *, screen="", unsent=0) -> list[Reason]:
    """Everything that stands in the way of this person signing this meaning for these pieces now."""
    job = floor.job
    if meaning not in set(Meaning):
        return [Reason("answer_unfit", f"“{meaning}” is no signing this plan knows.")]
    facts = SignFacts(
        meaning=meaning,
        fittings=tuple(
            told.fitting_facts(floor, piece, tuple(conditions.for_signing(floor, piece, meaning, now)))
            for piece in pieces
        ),
        by=told.who(by),
        now=now,
        zone=told.zone(floor),
        unsent=unsent + promised(job),
        screen_seen=screen,
        screen_now=screen_of(floor, pieces, meaning) if screen else "",
        self_release=job.workshop.self_release,
    )
    return gates.sign_reasons(facts, roles_of(job.workshop))


def promised(job) -> int:
    """Photos promised whose bytes are not in and checked."""
    return Upload.objects.filter(job=job, photo__isnull=True, refused="").count()


def frozen(floor: Floor, pieces: list[Piece], meaning: str) -> dict:
    """What is signed, line by line, by checklist id: whole numbers and texts only, so that it can be digested."""
    language = floor.job.workshop.language
    lines = {}
    for piece in pieces:
        for stage in stages_of(piece, meaning):
            lines[str(stage.checklist.pk)] = {
                "place": piece.place,
                "stage": stage.stage,
                "round": stage.checklist.round,
                "keys": told.current_keys(stage),
                "rows": [_row(stage, line, edge, language) for line in stage.lines for edge in line.places()],
            }
    return lines


def _row(stage: StageOnFloor, line, edge: str, language: str) -> dict:
    on = stage.answers.get((line.key, edge))
    outcome = on.outcome if on else None
    return {
        "key": line.key,
        "edge": edge,
        "text": in_language(line.text, language),
        "answer": outcome.answer if outcome else "",
        "value": outcome.value if outcome else None,
        "reason": outcome.reason if outcome else "",
        "person": outcome.person_id if outcome else None,
        "at": chain.instant(outcome.at) if outcome else "",
        "photos": sorted(
            proof.photo.sha256 for proof in stage.photos.get((line.key, edge), ()) if proof.photo_id
        ),
    }


def screen_of(floor: Floor, pieces: list[Piece], meaning: str) -> str:
    """The digest of the screen a signature is asked on."""
    return chain.digest(frozen(floor, pieces, meaning))


def sentence_of(floor: Floor, pieces: list[Piece], meaning: str, by: By) -> str:
    """The words signed; lines entered under other names are named in them."""
    language = floor.job.workshop.language
    entry = next(s for s in floor.plan["signings"] if s["meaning"] == meaning)
    names = ", ".join(piece.name for piece in pieces)
    sentence = in_language(entry["sentence"], language).format(places=names)
    others = sorted(
        {
            on.outcome.person.name
            for piece in pieces
            for stage in stages_of(piece, meaning)
            for on in stage.answers.values()
            if on.outcome.person_id != by.person.pk
        }
    )
    if others:
        sentence += " " + in_language(entry["others"], language).format(others=", ".join(others))
    return sentence


def _waived(floor: Floor, pieces: list[Piece]) -> frozenset[str]:
    return frozenset.intersection(*(floor.waived(piece) for piece in pieces))


def _sign_off(signing: Signing, stage: StageOnFloor, meaning: str, entry) -> None:
    before = stage.signoffs.get(meaning)
    if before is not None:
        if set(told.signed_keys(before)) == set(told.current_keys(stage)):
            return
        SignOff.objects.filter(pk=before.pk).update(replaced_by=entry)
    SignOff.objects.create(signing=signing, checklist=stage.checklist, meaning=meaning)


def _release(job, by: By, now, entry) -> None:
    """The signing of the last live piece releases the job."""
    floor = Floor(job)
    if not all(piece.signoff(Meaning.RELEASED) for piece in floor.pieces):
        return
    Release.objects.update_or_create(
        job=job,
        defaults={
            "entry": entry,
            "person": by.person,
            "by_installer": any(checked_by_installer(floor, piece) for piece in floor.pieces),
            "at": now,
        },
    )


def checked_by_installer(floor: Floor, piece: Piece) -> bool:
    """True where whoever released this piece is also one of those who filmed it."""
    signoff = piece.signoff(Meaning.RELEASED)
    if signoff is None:
        return False
    return bool(progress.tie_to(told.fitting_facts(floor, piece), signoff.signing.person_id))


def sign_ready(*, job, panels: list[str], by: By, now, screen: str = "", unsent: int = 0) -> Signing:
    return sign(job=job, meaning=Meaning.READY, panels=panels, by=by, now=now, screen=screen, unsent=unsent)


def sign_hidden(*, job, panels: list[str], by: By, now, screen: str = "", unsent: int = 0) -> Signing:
    return sign(job=job, meaning=Meaning.HIDDEN, panels=panels, by=by, now=now, screen=screen, unsent=unsent)


def sign_laid(*, job, panels: list[str], by: By, now, screen: str = "", unsent: int = 0) -> Signing:
    return sign(job=job, meaning=Meaning.LAID, panels=panels, by=by, now=now, screen=screen, unsent=unsent)


def sign_released(*, job, panels: list[str], by: By, now, screen: str = "", unsent: int = 0) -> Signing:
    return sign(
        job=job, meaning=Meaning.RELEASED, panels=panels, by=by, now=now, screen=screen, unsent=unsent
    )
