"""A car filmed, released and handed over, put down as rows: what a certificate is made from.

Ines and Tom laid the film, Marek looked it over, Dora handed the car back.
"""

import hashlib
import io
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from PIL import Image, ImageDraw

from shop import models, store
from shop.intake.names import body_of
from shop.intake.sheet import Body
from shop.people.identity import By, Claimed, Proven
from shop.record import chain
from shop.record.actions import keep_private, told, write
from shop.work import signing as signing_of
from shop.work.floor import Floor, Piece
from shop.work.kinds import SATISFIED_BY, STAGES_OF, LineKind, Meaning
from tests import make
from tests.kept import kept

LAID = make.NOW + timedelta(hours=2)
RELEASED = make.NOW + timedelta(hours=28)
HANDED_OVER = make.NOW + timedelta(hours=30)
HAND_OVER_DAY = date(2026, 3, 3)
PANELS = (("hood", 1), ("fender-left", 1), ("bumper-front", 2))
STROKES = (
    "[[[90,640],[150,300],[210,150],[240,420],[230,760],[300,520],[380,380],[430,560],[500,460],"
    "[560,600],[640,430],[700,560],[880,500]],[[300,860],[760,820]]]"
)


@dataclass
class Finished:
    """The job and everybody who had a hand in it."""

    job: models.Job
    shop: models.Workshop
    ines: models.Person
    tom: models.Person
    marek: models.Person
    dora: models.Person
    petra: models.Person
    photos: list[models.Photo] = field(default_factory=list)


def finished_job(
    shop=None,
    *,
    panels: Iterable[tuple[str, int]] = PANELS,
    number: str = "26-0001",
    car=None,
    handed_over: date | None = HAND_OVER_DAY,
    checked_by_installer: bool = False,
    with_photos: bool = True,
) -> Finished:
    """A job with nothing left to do but its certificate. `panels`: code and number of pieces.

    `handed_over=None` leaves it released, in the workshop's yard.
    """
    given = {
        "panels": tuple(panels),
        "number": number,
        "handed_over": handed_over,
        "checked_by_installer": checked_by_installer,
        "with_photos": with_photos,
    }
    if shop is None and car is None:
        return kept(_finished, **given)
    return _finished(shop, car, **given)


def _finished(
    shop=None, car=None, *, panels, number, handed_over, checked_by_installer, with_photos
) -> Finished:
    shop = shop or make.workshop()
    done = _people(shop)
    plan = _document(shop, "plan", "plans/builtin.toml")
    body = _document(shop, "body", "bodies/sedan.toml")
    _document(shop, "roles", "roles.toml")
    _document(shop, "terms", "terms/builtin.toml")
    sheet = _document(shop, "film", "films/defaults.toml")
    done.job = make.job(shop, car=car or _car(shop), number=number, plan=plan, body=body, odometer_km=48210)
    roll = make.roll(shop, sheet=sheet, code=f"R-{number}")
    drawn = body_of(body)
    for code, pieces in panels:
        _set_out(done, drawn, code, pieces, roll, sheet)
    _work(done, with_photos)
    checker = done.ines if checked_by_installer else done.marek
    entry = _sign(done, Meaning.RELEASED, checker, RELEASED)
    models.Release.objects.create(
        entry=entry, job=done.job, person=checker, by_installer=checked_by_installer, at=RELEASED
    )
    if handed_over:
        hand_over(done, on=handed_over)
    return done


def hand_over(done: Finished, *, on: date, at: datetime = HANDED_OVER) -> models.HandOver:
    strokes = keep_private(done.shop, STROKES)
    text = "I have my car back and looked at every panel listed."
    consent = models.Consent.objects.create(
        job=done.job, kind="hand_over", text=text, strokes=strokes, given_at=at
    )
    said = {"on": on.isoformat(), "odometer_km": 48214, "text": text, "strokes": told(strokes)}
    entry = _write(done.job, "hand_over", said, _proven(done.dora), at)
    return models.HandOver.objects.create(
        entry=entry, job=done.job, person=done.dora, consent=consent, on=on, odometer_km=48214, at=at
    )


def picture(text: str, size: tuple[int, int] = (1200, 900)) -> bytes:
    """A JPEG that differs for every text: a grey panel with its edge and the words on it."""
    shade = int(hashlib.sha256(text.encode()).hexdigest()[:2], 16) // 4
    image = Image.new("RGB", size, (120 + shade, 126 + shade, 132 + shade))
    draw = ImageDraw.Draw(image)
    draw.line([(0, size[1] * 2 // 3), (size[0], size[1] // 2)], fill=(30, 44, 58), width=18)
    draw.text((40, 40), text, fill=(20, 32, 43), font_size=size[0] // 25)
    kept = io.BytesIO()
    image.save(kept, "JPEG", quality=80)
    return kept.getvalue()


def _people(shop) -> Finished:
    def person(name, *roles):
        return models.Person.objects.filter(workshop=shop, name=name).first() or make.person(
            shop, name, *roles
        )

    return Finished(
        job=None,
        shop=shop,
        ines=person("Ines Vidal", "installer"),
        tom=person("Tom Aker", "installer"),
        marek=person("Marek Dudek", "inspector"),
        dora=person("Dora Lind", "desk"),
        petra=person("Petra Quay", "owner"),
    )


def _document(shop, kind, path):
    return models.Document.objects.in_force(shop, kind) or make.document(shop, kind, path)


def _car(shop):
    car = make.vehicle(shop)
    car.vin_private = keep_private(shop, car.vin)
    car.save()
    return car


def _proven(person) -> Proven:
    return Proven(person, "pin")


def _write(job, verb: str, body: dict, by: By, now: datetime) -> models.Entry:
    return write(workshop=job.workshop, job=job, verb=verb, body=body, by=by, now=now)


def _set_out(done: Finished, body: Body, code: str, pieces: int, roll, sheet) -> None:
    shape = body.panel(code)
    panel, _ = models.Panel.objects.get_or_create(
        vehicle=done.job.vehicle, code=code, defaults={"kind": shape.kind, "material": shape.material}
    )
    for piece in range(1, pieces + 1):
        fitting = models.Fitting.objects.create(
            job=done.job,
            panel=panel,
            piece=piece,
            cut=shape.cut,
            cover=shape.cover,
            roll=roll,
            sheet=sheet,
            features=list(shape.features),
            material=shape.material,
            set_out_at=make.NOW,
        )
        for person in (done.ines, done.tom):
            models.FittingPerson.objects.create(fitting=fitting, person=person)
        for position, edge in enumerate(shape.edges):
            models.FittingEdge.objects.create(
                fitting=fitting,
                code=edge.code,
                kind=edge.kind,
                finish=edge.finish,
                return_mm=edge.return_mm,
                primer=edge.primer,
                position=position,
            )


def _work(done: Finished, with_photos: bool) -> None:
    floor = Floor(done.job)
    for piece in floor.pieces:
        for stage in piece.stages:
            models.Checklist.objects.create(fitting=piece.row, stage=stage, opened_at=make.NOW)
    for piece in Floor(done.job).pieces:
        _answer(done, piece, with_photos)
    for meaning in (Meaning.READY, Meaning.HIDDEN, Meaning.LAID):
        _sign(done, meaning, done.marek if meaning is Meaning.HIDDEN else done.ines, LAID)


def _answer(done: Finished, piece: Piece, with_photos: bool) -> None:
    edges = {edge.code: edge for edge in piece.row.edges.all()}
    for stage in piece.stages.values():
        for line in stage.lines:
            if not line.required:
                continue
            by = Claimed(done.marek if line.second else done.ines)
            at = RELEASED if line.second else LAID
            answer = next(iter(SATISFIED_BY[LineKind(line.kind)]))
            value = _value(line, piece)
            said = {
                "line": line.key,
                "places": [[piece.place, list(line.places())]],
                "answer": answer,
                "value": value,
            }
            entry = _write(done.job, "answer", said, by, at)
            outcome = models.Outcome.objects.create(
                entry=entry, person=by.person, key=line.key, answer=answer, at=at, value=value
            )
            for place in line.places():
                models.OutcomeOn.objects.create(
                    outcome=outcome, checklist=stage.checklist, key=line.key, edge=edges.get(place)
                )
            if with_photos and line.photo:
                _prove(done, at, by, stage, line, edges, piece)


def _value(line, piece: Piece) -> dict | None:
    values = {"lot": piece.row.roll.lot.code, "roll": piece.row.roll.code, "air_c100": 2140}
    values |= {"panel_c100": 2090, "humidity_rh10": 480, "lowest_c100": 1910, "highest_c100": 2260}
    return {field.name: values[field.name] for field in line.fields if field.name in values} or None


def _prove(done, at, by, stage, line, edges, piece: Piece) -> None:
    """One photo for every two places, as people take them."""
    places = line.places()
    for start in range(0, len(places), 2):
        shown = places[start : start + 2]
        photo = keep(done, f"{piece.place} {line.key} {' '.join(shown)}")
        said = {"sha256": photo.sha256, "places": [[piece.place, line.key, place] for place in shown]}
        entry = _write(done.job, "keep_photo", said, by, at)
        for place in shown:
            models.OutcomePhoto.objects.create(
                entry=entry,
                person=by.person,
                checklist=stage.checklist,
                edge=edges.get(place),
                key=line.key,
                photo=photo,
                at=at,
            )


def keep(done: Finished, text: str) -> models.Photo:
    """A photo row with its bytes in the store, as the intake of photos leaves them."""
    data = picture(text)
    sha256 = hashlib.sha256(data).hexdigest()
    photo, new = models.Photo.objects.get_or_create(
        workshop=done.shop,
        sha256=sha256,
        defaults={"size": len(data), "type": "jpeg", "w": 1200, "h": 900, "kept_at": LAID},
    )
    if new:
        store.put(data, sha256)
        for variant, size in ((store.SCREEN, (800, 600)), (store.PRINT, (400, 300))):
            store.put(picture(text, size), sha256, variant)
        done.photos.append(photo)
    return photo


def _sign(done: Finished, meaning: Meaning, person, at: datetime) -> models.Entry:
    wanted = next(s for s in done.job.plan.body["signings"] if s["meaning"] == meaning)
    floor = Floor(done.job)
    sentence = wanted["sentence"]["en"].replace("{places}", ", ".join(p.name for p in floor.pieces))
    checklists = [p.stages[str(stage)].checklist for p in floor.pieces for stage in STAGES_OF[meaning]]
    lines = signing_of.frozen(floor, floor.pieces, meaning)
    digest = chain.digest(lines)
    said = {"meaning": meaning, "sentence": sentence, "lines_digest": digest}
    entry = _write(done.job, f"sign_{meaning}", said, _proven(person), at)
    signing = models.Signing.objects.create(
        entry=entry,
        person=person,
        meaning=meaning,
        language="en",
        sentence=sentence,
        lines=lines,
        digest=digest,
        at=at,
    )
    for checklist in checklists:
        models.SignOff.objects.create(signing=signing, checklist=checklist, meaning=meaning)
    return entry
