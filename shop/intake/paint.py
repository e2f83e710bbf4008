"""Fresh and suspect paint: what is wrong with a panel's paint, in words, until the customer accepts it."""

from datetime import date

KINDS = {"fresh": "Fresh paint", "repainted": "Repainted", "suspect": "Suspect paint"}
DRIED = {"baked": "baked", "air": "air-dried", "unknown": "dried nobody knows how"}


def concern(kind: str, dried: str = "", painted_on: date | None = None) -> str:
    """What a reason says of it.

    >>> concern("fresh", "air", date(2026, 5, 3))
    'fresh paint, air-dried, painted on 3 May 2026'
    >>> concern("suspect")
    'suspect paint'
    """
    said = [KINDS[kind].lower()]
    if dried:
        said.append(DRIED[dried])
    if painted_on:
        said.append(f"painted on {painted_on.day} {painted_on:%B %Y}")
    return ", ".join(said)


def acceptance(panel: str, said: str) -> str:
    """What the customer signs under. Not legal advice: local law and the workshop's own terms stand beside it."""
    return (
        f"{panel}: {said}. Film holds on to the top coat, and weak or fresh paint can come off with it when film "
        "is laid, moved or taken off later. I was told so, and that paint has to harden first for as long as its "
        "maker says. I know how the paint of this panel was found, and I want it filmed all the same. This takes "
        "nothing away from the rights the law gives me."
    )
