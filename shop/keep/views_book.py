"""The record book in plain words: one page a job, one for the workshop."""

from django.shortcuts import get_object_or_404
from django.urls import reverse

from shop.intake.models import Job
from shop.keep import book as books
from shop.pages import page
from shop.people import doors
from shop.record.models import Book


@doors.staff()
def of_job(request, job):
    """Everybody who works here may read what was done to a car; what is known of its owner only the desk."""
    row = get_object_or_404(Job.objects.for_page(), pk=job, workshop=request.workshop)
    book = get_object_or_404(Book, job=row)
    book.job, book.workshop = row, row.workshop
    about = {"job": row, "here": "cars", "back": reverse("car", args=[row.pk])}
    return _page(request, book, about)


@doors.staff(*doors.OWNER)
def of_shop(request):
    book = get_object_or_404(Book, workshop=request.workshop, job__isnull=True)
    book.workshop = request.workshop
    return _page(request, book, {"here": "shop", "back": reverse("shop")})


def _page(request, book: Book, about: dict):
    choice = books.Choice(**{name: request.GET.get(name, "")[:40] for name in ("person", "verb", "panel")})
    whole = "print" in request.GET
    found = books.page_of(books.chosen(book, choice), request.GET.get("page"), whole=whole)
    entries = list(found.object_list)
    for entry in entries:
        entry.book = book
    values = request.person.has(*doors.DESK)
    language = request.workshop.language
    names = books.names_for(book, (), values=False, language=language)
    context = {
        "book": book,
        "rows": books.shown(entries, book, values=values, language=language),
        "found": found,
        "choice": choice,
        "choices": books.choices(book, names),
        "whole": whole,
        "kept": _without_page(request),
        "zone": request.workshop.zone,
    }
    return page(request, "keep/book.html", about | context)


def _without_page(request) -> str:
    """The choice as it stands, for links to other pages of it."""
    told = request.GET.copy()
    for name in ("page", "print"):
        told.pop(name, None)
    return told.urlencode()
