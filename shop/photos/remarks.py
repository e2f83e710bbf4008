"""What is odd about a photo that is kept all the same: said to the inspector, never a reason to refuse it."""

from datetime import UTC, datetime, timedelta
from hashlib import sha256
from zoneinfo import ZoneInfo

from shop.photos import quality
from shop.photos.models import Photo

# Common practice, no source: on test pictures a sharp one had over 200, a slightly soft one 80, a blurred one 15.
BLUR_UNDER = 40
# Saved again, shrunk or brightened, a picture moves by 0 bits; two takes of one panel by 3 and more.
ALIKE_UP_TO = 1
LOOKED_THROUGH = 500
OLD_AFTER = timedelta(hours=24)


def verdict(found, *, workshop, job, at) -> dict:
    """The JSON kept with a photo: notes, hash, sharpness, and the digests of the sizes made of it.

    `at` is when the photo was taken in: one taken days before is not from this work.
    """
    seen = found.decoded.verdict
    notes = [
        *_blur(seen.sharpness),
        *_age(found.decoded.taken, at, workshop.zone),
        *_likeness(seen.dhash, found.sha256, workshop),
    ]
    return {
        "notes": [{"code": code, "text": text} for code, text in notes],
        "dhash": seen.dhash,
        "sharpness": seen.sharpness,
        "named": found.named,
        "screen": sha256(found.decoded.screen).hexdigest(),
        "print": sha256(found.decoded.print).hexdigest(),
    }


def taken_at(text: str, zone: str) -> datetime | None:
    """The camera's own time as a moment; one without an offset is read in the workshop's zone.

    None when it says nothing, or nothing that is a day: cameras write 31 June and year 0 as well.
    """
    try:
        moment = datetime.fromisoformat(text)
        return (moment if moment.tzinfo else moment.replace(tzinfo=ZoneInfo(zone))).astimezone(UTC)
    except (ValueError, OverflowError):
        return None


def _blur(sharpness: int):
    if sharpness < BLUR_UNDER:
        yield "blur", "This photo may be blurred. Check that the edge can be seen on it."


def _age(taken: str, at: datetime, zone: str):
    moment = taken_at(taken, zone) if taken else None
    if moment is not None and abs(at - moment) > OLD_AFTER:
        yield (
            "photo_old",
            f"By its camera this photo was taken on {moment.astimezone(ZoneInfo(zone)):%-d %B %Y}.",
        )


def _likeness(dhash: str, sha256: str, workshop):
    others = Photo.objects.of(workshop).exclude(sha256=sha256).latest_first()
    # The whole verdict: SQLite hands back a key of digits alone as a number.
    for pk, verdict in others.values_list("pk", "verdict")[:LOOKED_THROUGH]:
        kept = verdict.get("dhash")
        if kept and quality.distance(kept, dhash) <= ALIKE_UP_TO:
            yield "look_alike", f"This photo looks very much like photo {pk}, which is here already."
            return
