"""What a certificate would promise, before anybody signs for it."""

from shop.warranty import promise
from shop.warranty.shown import cover_rows
from shop.work.floor import Floor


def preview(floor: Floor, terms) -> list[dict]:
    """Cover lines as the paper will show them. The car has to be handed over: cover starts on that day."""
    language = floor.job.workshop.language
    lines = promise.cover_lines(floor, terms.body, floor.job.hand_over.on, language)
    labels = {piece.spec.panel: piece.name.partition(",")[0] for piece in floor.pieces}
    return cover_rows(lines, labels)
