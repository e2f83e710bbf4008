"""Turning what is stored into what is read: texts in a language, days and times in the workshop's zone."""

from functools import cache
from zoneinfo import ZoneInfo

import pyphen
from django import template
from django.utils.html import format_html

from shop import clock

register = template.Library()
LONG = 9


def in_language(text, language="en"):
    """A document's text: the language asked for, else English, else whatever there is."""
    if not isinstance(text, dict):
        return text or ""
    return text.get(language) or text.get("en") or next(iter(text.values()), "")


register.filter("say", in_language)


@register.filter
def breaking(word, language="en_US"):
    """Long words with places where a narrow column may break them; the browser draws the hyphen only there.

    >>> breaking("Decontaminate").replace("\u00ad", "-")
    'De-con-tam-i-nate'
    """
    return " ".join(
        _dictionary(language).inserted(part, "\u00ad") if len(part) > LONG else part
        for part in word.split(" ")
    )


@cache
def _dictionary(language):
    return pyphen.Pyphen(lang=language)


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
def soon(value, zone):
    """A moment near at hand: "today 17:00", "Thu 17:00", else with its day."""
    if not value:
        return ""
    there = value.astimezone(ZoneInfo(zone))
    days = (there.date() - clock.now().astimezone(ZoneInfo(zone)).date()).days
    if days == 0:
        return f"today {there:%H:%M}"
    return f"{there:%a %H:%M}" if 0 < days < 7 else f"{there.day} {there:%b %H:%M}"


@register.filter
def hour(value, zone):
    return f"{value.astimezone(ZoneInfo(zone)):%H:%M}" if value else ""


@register.filter
def code(value):
    return format_html('<span class="code">{}</span>', value)
