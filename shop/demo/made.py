"""What an act made, as ids that a later line of a rehearsal can name."""

from typing import Any

from shop import models


def made(done: Any) -> dict[str, Any]:
    """`{"id": …}` with whatever else the thing goes by; of several things the first, and all under `ids`."""
    if isinstance(done, list):
        return ({**made(done[0]), "ids": [row.pk for row in done]}) if done else {"ids": []}
    teller = _TELL.get(type(done))
    if teller:
        return {"id": done.pk, **teller(done)}
    return {"id": done.pk} if hasattr(done, "pk") else {}


def _job(job: models.Job) -> dict[str, Any]:
    return {"job": job.pk, "number": job.number, "vehicle": job.vehicle_id, "customer": job.customer_id}


def _roll(roll: models.Roll) -> dict[str, Any]:
    return {
        "roll": roll.pk,
        "code": roll.code,
        "lot": roll.lot_id,
        "lot_code": roll.lot.code,
        "material": roll.lot.material_id,
    }


def _lot(lot: models.Lot) -> dict[str, Any]:
    return {"lot": lot.pk, "code": lot.code, "material": lot.material_id}


def _outcome(outcome: models.Outcome) -> dict[str, Any]:
    """With the defects that a "wrong" opened."""
    fittings = outcome.on.values("checklist__fitting")
    opened = models.Defect.objects.filter(
        fitting__in=fittings, line=outcome.key, raised_at=outcome.at, raised_by=outcome.person
    )
    defects = list(opened.order_by("pk").values_list("pk", flat=True))
    return {"outcome": outcome.pk, "entry": outcome.entry_id} | (
        {"defects": defects, "defect": defects[0]} if defects else {}
    )


def _proof(proof: models.OutcomePhoto) -> dict[str, Any]:
    return {"id": proof.photo_id, "photo": proof.photo_id, "sha256": proof.photo.sha256}


def _fitting(fitting: models.Fitting) -> dict[str, Any]:
    return {"fitting": fitting.pk, "place": fitting.place}


def _revision(revision: models.Revision) -> dict[str, Any]:
    """The id is the certificate's: that is what later acts are about."""
    return {
        "id": revision.certificate_id,
        "certificate": revision.certificate_id,
        "number": revision.certificate.number,
        "token": revision.certificate.token,
        "revision": revision.n,
        "facts_digest": revision.facts_digest,
        "pdf_sha256": revision.pdf_sha256,
    }


def _cut(cut: models.Cut) -> dict[str, Any]:
    return {"cut": cut.pk, "roll": cut.roll_id}


def _offcut(offcut: models.Offcut) -> dict[str, Any]:
    return {"offcut": offcut.pk, "roll": offcut.roll_id}


_TELL = {
    models.Cut: _cut,
    models.Offcut: _offcut,
    models.Mix: lambda mix: {"mix": mix.pk, "label": mix.label},
    models.Job: _job,
    models.Roll: _roll,
    models.Lot: _lot,
    models.Outcome: _outcome,
    models.OutcomePhoto: _proof,
    models.Fitting: _fitting,
    models.Revision: _revision,
    models.Person: lambda person: {"person": person.pk, "workshop": person.workshop_id},
    models.Tablet: lambda tablet: {"tablet": tablet.pk},
    models.Mark: lambda mark: {"mark": mark.pk},
    models.PaintNote: lambda note: {"paint_note": note.pk},
    models.Defect: lambda defect: {"defect": defect.pk},
    models.Signing: lambda signing: {"signing": signing.pk, "entry": signing.entry_id},
}
