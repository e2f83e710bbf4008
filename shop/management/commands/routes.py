"""Every address of the program: what it takes, and what it answers to whom."""

import json
import sys
from collections.abc import Iterator

from django.contrib.admindocs.views import simplify_regex
from django.core.management.base import BaseCommand
from django.urls import URLPattern, URLResolver, get_resolver
from django.urls.resolvers import RegexPattern, RoutePattern

from shop.people.doors import PEOPLE, Door


class Command(BaseCommand):
    help = "List the addresses with methods, and the status a GET gets from each kind of person."

    def add_arguments(self, parser):
        parser.add_argument("--json", action="store_true", help="one JSON list")

    def handle(self, **options):
        rows, bare = routes(), doorless()
        self.stdout.write(json.dumps(rows) if options["json"] else "\n".join(map(in_words, rows)))
        if bare:
            self.stderr.write(f"Without a door, so nobody decided who may open them: {', '.join(bare)}.")
            sys.exit(1)


def routes() -> list[dict]:
    return [
        {
            "url": url,
            "name": pattern.name or "",
            "methods": [method for method in door.methods if method != "HEAD"],
            "answers": {who: door.answer(who, of_something="<" in url) for who in PEOPLE},
        }
        for url, pattern in patterns()
        if (door := door_of(pattern))
    ]


def doorless() -> list[str]:
    return [url for url, pattern in patterns() if door_of(pattern) is None]


def door_of(pattern: URLPattern) -> Door | None:
    return getattr(pattern.callback, "door", None)


def patterns(resolver: URLResolver | None = None, before: str = "/") -> Iterator[tuple[str, URLPattern]]:
    for entry in (resolver or get_resolver()).url_patterns:
        here = before + shown(entry.pattern)
        if isinstance(entry, URLResolver):
            yield from patterns(entry, here)
        else:
            yield here, entry


def shown(pattern: RoutePattern | RegexPattern) -> str:
    """`photos/<pk>/original/`, however it was written."""
    text = str(pattern)
    return simplify_regex(text).removeprefix("/") if isinstance(pattern, RegexPattern) else text


def in_words(row: dict) -> str:
    answers = " ".join(f"{who} {status}" for who, status in row["answers"].items())
    return f"{row['url']}  [{' '.join(row['methods'])}]  {answers}"
