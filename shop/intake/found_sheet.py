"""What was found on a car, on its body sheet: marks as numbered discs, doubtful paint, panels that stand out."""

from collections.abc import Collection

from django.utils.safestring import SafeString, mark_safe

from shop.intake import paint
from shop.intake.drawing import draw_sheet
from shop.intake.models import Mark, PaintNote
from shop.intake.names import body_of, panel_name
from shop.intake.sheet_states import Mark as Disc
from shop.intake.sheet_states import PanelMark, PanelState


def found_sheet(
    job, marks: list[Mark], notes: list[PaintNote], open_notes: Collection[int], **drawn
) -> SafeString:
    """`drawn` goes to the drawing as it is: size, width, links."""
    body, language = body_of(job.body), job.workshop.language
    discs = [
        Disc(
            panel=mark.panel.code,
            number=number,
            title=f"{panel_name(body, mark.panel.code, language)}, {mark.get_kind_display().lower()}",
            kind="damage",
            x_th=mark.x_mil,
            y_th=mark.y_mil,
            href=f"#mark-{mark.pk}",
        )
        for number, mark in enumerate(marks, 1)
    ]
    states = panel_states(marks, notes, open_notes)
    return mark_safe(
        draw_sheet(body, panels=states, marks=discs, labels=True, ids="sheet", language=language, **drawn)
    )


def panel_states(marks, notes, open_notes) -> dict[str, PanelState]:
    """Panels with something found stand out; the rest stay thin, with their names."""
    found = {}
    for mark in marks:
        found.setdefault(mark.panel.code, []).append(mark)
    states = {
        code: PanelState(PanelMark.NOT_STARTED, note=f"{len(here)} mark{'s' if len(here) > 1 else ''}")
        for code, here in found.items()
    }
    for note in notes:
        held = note.pk in open_notes
        words = paint.KINDS[note.kind].lower() if held else "paint accepted"
        mark = PanelMark.HELD if held else PanelMark.NOT_STARTED
        if held or note.panel.code not in states:
            states[note.panel.code] = PanelState(mark, note=words)
    return states
