"""What the customer signs where something stays as it is: the words, and the signature under them."""

from shop.intake.models import Consent
from shop.intake.strokes import read_strokes, strokes_text
from shop.reasons import Reason, Refused
from shop.record.actions import keep_private
from shop.templatetags.words import in_language
from shop.work.floor import Floor, Piece
from shop.work.models.outcome import Defect


def agreement_text(floor: Floor, piece: Piece, defect: Defect, kind: str) -> str:
    """The sentence for this defect named this way; the same on the glass and in the record."""
    language = floor.job.workshop.language
    word = next(
        (in_language(one["title"], language) for one in floor.plan.get("defects", ()) if one["code"] == kind),
        "something is wrong",
    )
    edge = piece.edge_names.get(defect.edge.code, defect.edge.code) if defect.edge else ""
    place = f"{piece.name}, {edge[:1].lower()}{edge[1:]}" if edge else piece.name
    return (
        f"{place}: {word[:1].lower()}{word[1:]}. I have seen it, it stays as it is, and I take the car with it. "
        "What the law gives me stays mine."
    )


def signed_text(strokes) -> str:
    """The strokes as they are kept; empty where nothing was drawn at all. Refused for what is no signature."""
    return strokes_text(read_strokes(strokes)) if strokes else ""


def must_be_what_was_read(text: str, text_seen: str) -> None:
    if text_seen and text_seen != text:
        told = "What was found is named otherwise by now: let the customer read it again, then sign."
        raise Refused(Reason("screen_changed", told, where="#strokes"))


def keep_agreement(job, text: str, drawn: str, now) -> Consent:
    """Inside the verb that closes the defect."""
    kept = keep_private(job.workshop, drawn)
    return Consent.objects.create(job=job, kind=Consent.Kind.DEFECT, text=text, strokes=kept, given_at=now)
