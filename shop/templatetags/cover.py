"""The cover of a car on its sheet, for pages of rooms that come before the one that gives it."""

from django import template

from shop import clock

register = template.Library()


@register.inclusion_tag("warranty/_cover_sheet.html")
def cover_sheet(job):
    """Which panels of this job are covered and until when; nothing where no certificate was issued."""
    from shop.public.standing import standing
    from shop.warranty.drawing import covered_sheet

    certificate = getattr(job, "certificate", None)
    if certificate is None:
        return {}
    found = standing(certificate, now=clock.now())
    over = {panel.code for panel in found.panels if panel.over or found.code != "in_force"}
    drawn = covered_sheet(found.facts, job.workshop, size="small", width=280, over=over, ids="cover-now")
    return {"certificate": certificate, "standing": found, "drawing": drawn}
