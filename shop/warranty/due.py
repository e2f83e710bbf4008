"""Which rechecks are due: worked out from the terms of each paper and the day its cover began, never stored."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Max, Min

from shop.documents.models import Document
from shop.warranty.aftercare import Recheck
from shop.warranty.care import care_rows
from shop.warranty.models import Certificate, Revision

COMING, DUE, MISSED, DONE = "coming", "due", "missed", "done"
BESIDES = "Agreed on besides the terms."


@dataclass(frozen=True)
class Asked:
    """One recheck a paper asks for: due from its first day, missed after `due_until` where there is such a day."""

    key: str
    text: str
    due_from: date
    due_until: date | None


@dataclass(frozen=True)
class Due:
    """One recheck of one paper as it stands today. `row` is there once it was planned or done."""

    certificate: Certificate
    revision: Revision
    asked: Asked
    row: Recheck | None
    today: date

    @property
    def state(self) -> str:
        if self.row and self.row.done_on:
            return DONE
        if self.today < self.asked.due_from:
            return COMING
        if self.asked.due_until is None or self.today <= self.asked.due_until:
            return DUE
        return MISSED

    @property
    def planned_on(self) -> date | None:
        return self.row.planned_on if self.row else None


def asked_of(certificate: Certificate) -> list[Asked]:
    """Every recheck the terms of this paper ask for, first due first."""
    revision = certificate.current()
    first = min((line.first_day for line in revision.cover.all()), default=None)
    return schedule(revision.terms.body, first, revision.language) if revision.terms and first else []


def schedule(terms: Mapping[str, Any], first: date, language: str) -> list[Asked]:
    """The rechecks of these terms for a cover that began on `first`."""
    grace = terms.get("recheck", {}).get("grace_days")
    try:
        rows = care_rows(terms, first, language=language)
    except ValueError:
        return []
    return [
        Asked(row.key, row.text, row.from_day, row.until_day or _after(row.from_day, grace))
        for row in rows
        if row.recheck and row.from_day
    ]


def rechecks_due(workshop, *, today: date, ahead_days: int = 31) -> list[Due]:
    """Every recheck due by now or within `ahead_days`, and those missed while the cover still runs."""
    return sorted(
        (
            due
            for due in _all(workshop, today)
            if due.state in (DUE, MISSED)
            or (due.state == COMING and due.asked.due_from <= today + timedelta(days=ahead_days))
        ),
        key=lambda due: (due.planned_on or due.asked.due_from, due.certificate.pk),
    )


def rechecks_of(certificates: Iterable[Certificate], *, today: date) -> list[Due]:
    """All rechecks of these papers, done ones among them, and those agreed on besides the terms."""
    found: list[Due] = []
    for certificate in certificates:
        rows = certificate.rechecks.all()
        found += _with_rows(certificate, certificate.current(), asked_of(certificate), rows, today)
    return sorted(found, key=lambda due: due.asked.due_from)


def _all(workshop, today: date) -> Iterable[Due]:
    revisions = _in_force(workshop, today)
    terms = {row.pk: row.body for row in Document.objects.filter(pk__in={r.terms_id for r in revisions})}
    rows: dict[int, list[Recheck]] = defaultdict(list)
    for row in Recheck.objects.of(workshop):
        rows[row.certificate_id].append(row)
    for revision in revisions:
        asked = schedule(terms.get(revision.terms_id) or {}, revision.first, revision.language)
        yield from _with_rows(revision.certificate, revision, asked, rows[revision.certificate_id], today)


def _with_rows(
    certificate: Certificate, revision: Revision, asked: list[Asked], rows: Iterable[Recheck], today: date
) -> Iterable[Due]:
    """What the terms ask for and what was agreed besides, each with its row where there is one."""
    by_key = {row.key: row for row in rows}
    every = {one.key: one for one in asked}
    for row in by_key.values():
        every.setdefault(row.key, Asked(row.key, BESIDES, row.due_from, row.due_until))
    for key, one in every.items():
        yield Due(certificate, revision, one, by_key.get(key), today)


def _in_force(workshop, today: date) -> list[Revision]:
    """The last revision of every paper that covers something today, with its first day as `first`."""
    found: dict[int, Revision] = {}
    rows = (
        Revision.objects.filter(certificate__workshop=workshop, certificate__job__isnull=False)
        .annotate(first=Min("cover__first_day"), last=Max("cover__last_day"))
        .filter(last__gte=today)
        .select_related("certificate__job__vehicle__plate", "certificate__workshop")
        .defer("facts")
        .order_by("certificate", "n")
    )
    for row in rows:
        found[row.certificate_id] = row
    return [row for row in found.values() if not row.withdrawn_at]


def _after(first: date, days: int | None) -> date | None:
    return None if days is None else first + timedelta(days=days)
