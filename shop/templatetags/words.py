"""Turning what is stored into what is read: texts in a language, days and times in the workshop's zone."""

from zoneinfo import ZoneInfo

from django import template
from django.utils.html import format_html

register = template.Library()


def in_language(text, language="en"):
    """A document's text: the language asked for, else English, else whatever there is."""
    if not isinstance(text, dict):
        return text or ""
    return text.get(language) or text.get("en") or next(iter(text.values()), "")


register.filter("say", in_language)


@register.filter
def day(value):
    """15 March 2024

    >>> import datetime; day(datetime.date(2024, 3, 5))
    '5 March 2024'
    """
    return f"{value.day} {value:%B %Y}" if value else ""


@register.filter
def local(value, zone):
    return value.astimezone(ZoneInfo(zone)) if value else None


@register.filter
def moment(value, zone):
    """25 November 2026, 10:20, on the workshop's clock."""
    if not value:
        return ""
    there = value.astimezone(ZoneInfo(zone))
    return f"{day(there)}, {there:%H:%M}"


@register.filter
def hour(value, zone):
    return f"{value.astimezone(ZoneInfo(zone)):%H:%M}" if value else ""


@register.filter
def code(value):
    return format_html('<span class="code">{}</span>', value)
