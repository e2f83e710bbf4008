"""Where a reason can be put right: from `hood.1/degrease#degrease.wipe@front` to an address."""

from shop.reasons import Reason
from shop.work.kinds import Stage


def url_of(reason: Reason, job) -> str:
    """The page that shows the place of a reason; empty when it has none."""
    where = reason.where
    if where.startswith("/"):
        return where
    place, _, rest = where.partition("/")
    place, _, edge = place.partition("@")
    if not place or "." not in place:
        return f"/cars/{job.pk}/" if where else ""
    if not rest:
        if reason.code == "paint_not_accepted":
            return f"/cars/{job.pk}/intake/paint/{place.split('.')[0]}/"
        if reason.code in ("lot_missing", "roll_expired", "two_people_missing", "set_out_changed"):
            return f"/cars/{job.pk}/set-out/{place.split('.')[0]}/"
        return f"/bay/{job.pk}/{place}/" + (f"?edge={edge}" if edge else "")
    stage, _, line = rest.partition("#")
    if stage not in set(Stage):
        return f"/bay/{job.pk}/{place}/"
    anchor = line.replace("@", "-") if line else ""
    return f"/bay/{job.pk}/{place}/{stage}/" + (f"#{anchor}" if anchor else "")


def shown(reasons: list[Reason], job) -> list[dict]:
    """Reasons for the page: one list, each with the link to where it is put right."""
    return [
        {
            "code": reason.code,
            **_in_two(reason.text),
            "weight": str(reason.weight),
            "where_url": url_of(reason, job),
            "place": reason.where.partition("/")[0].partition("@")[0],
        }
        for reason in reasons
    ]


def by_piece(reasons: list[dict]) -> list[dict]:
    """One obstacle a piece, in the order of its first sentence: that one to read, the rest to unfold."""
    found: dict[str, dict] = {}
    for number, reason in enumerate(reasons):
        key = reason["place"] or f"#{number}"
        if key in found:
            found[key]["rest"].append(reason)
        else:
            found[key] = {"first": reason, "rest": []}
    return list(found.values())


def _in_two(text: str) -> dict[str, str]:
    """A long sentence as its subject, to be read a metre away, and the quieter rest."""
    head, colon, rest = text.partition(": ")
    if not colon or len(text) < 60 or len(head) > 60:
        return {"text": text, "why": ""}
    return {"text": f"{head}.", "why": rest[0].upper() + rest[1:]}
