"""What every template has to keep to: nothing inline, marks drawn, the parts drawn in every state."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from django.template.loader import get_template, render_to_string
from django.test import RequestFactory

from shop.parts import samples

ROOT = Path(__file__).resolve().parents[2]
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
COMMENTS = re.compile(
    r"\{#.*?#\}|\{% comment .*?%\}.*?\{% endcomment %\}|\{% comment %\}.*?\{% endcomment %\}", re.S
)
INLINE = {
    "style attribute": re.compile(r"<[^>]*\sstyle\s*=", re.I),
    "style element": re.compile(r"<style[\s>]", re.I),
    "script without a source": re.compile(r"<script(?![^>]*\ssrc\s*=)[^>]*>", re.I),
    "event attribute": re.compile(r"<[^>]*\son[a-z]+\s*=", re.I),
    "script address": re.compile(r"javascript:", re.I),
    "htmx event attribute": re.compile(r"<[^>]*\shx-on[:a-z-]*\s*=", re.I),
    "typed mark": re.compile(r"[✓✔✗✘☑]"),
}


def shown(path):
    return str(path.relative_to(ROOT))


@pytest.mark.parametrize("path", TEMPLATES, ids=shown)
def test_nothing_inline(path):
    text = COMMENTS.sub("", path.read_text())
    for what, pattern in INLINE.items():
        hit = pattern.search(text)
        assert not hit, f"{shown(path)} has a {what}: {hit.group(0)[:60]}"


@pytest.mark.parametrize(
    "markup", ['<p style="a">', "<style>", "<script>x", '<b onclick="x">', '<a href="javascript:x">']
)
def test_the_patterns_find_what_they_look_for(markup):
    assert any(pattern.search(markup) for pattern in INLINE.values())


@pytest.mark.parametrize("path", sorted((ROOT / "templates" / "parts").glob("*.html")), ids=shown)
def test_a_part_says_what_it_needs(path):
    assert "Context:" in path.read_text()


class Page(HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags = []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def having(self, name):
        return [attrs for _, attrs in self.tags if name in attrs]


@pytest.fixture(scope="module")
def every_part():
    page = Page()
    request = RequestFactory().get("/parts/")
    page.feed(get_template("parts/index.html").render(samples(), request))
    return page


def test_a_row_carries_the_names_others_look_for(every_part):
    rows = [row for row in every_part.having("data-line") if "row" in (row.get("class") or "").split()]
    assert {row["data-line"] for row in rows} >= {"degrease.wipe", "seal.edge"}
    assert all(row["data-panel"] == "hood.1" for row in rows)
    assert all(("data-edge" in row) == (row["data-line"] == "seal.edge") for row in rows)
    answers = [a for a in every_part.having("data-answer") if "answer" in (a.get("class") or "").split()]
    assert {a["data-answer"] for a in answers} == {"done", "na", "wrong"}
    assert {a["aria-pressed"] for a in answers} == {"true", "false"}


def test_reasons_stages_and_the_unsent_count_carry_theirs(every_part):
    assert {r["data-reason"] for r in every_part.having("data-reason")} >= {"paint_not_accepted", "line_open"}
    assert {s["data-stage"] for s in every_part.having("data-stage")} >= {"wash", "cure"}
    assert {w["data-waiting"] for w in every_part.having("data-waiting")} == {"0", "3"}


def test_every_id_stands_once_and_every_label_finds_its_field(every_part):
    ids = [attrs["id"] for attrs in every_part.having("id")]
    # The sample form is drawn twice, right and wrong; a real page shows a form once.
    twice = {i for i in ids if ids.count(i) > 1}
    assert all(i.startswith("id_") for i in twice), twice
    missing = {a["for"] for a in every_part.having("for")} - set(ids)
    assert not missing


def test_every_drawing_has_a_name_or_is_silent(every_part):
    drawings = [attrs for tag, attrs in every_part.tags if tag == "svg" and ("class" in attrs)]
    assert drawings
    assert all("aria-hidden" in attrs or attrs.get("aria-label") for attrs in drawings)


@pytest.mark.parametrize("name", ["400", "403", "403_csrf", "404", "500"])
def test_error_pages_need_no_context(name):
    text = render_to_string(f"{name}.html")
    assert "<h1>" in text and 'href="/' in text


def test_the_page_for_a_broken_server_leans_on_nothing():
    """It is shown when the machinery that fills templates may be what broke."""
    assert not re.search(r"\{[%{]", (ROOT / "templates" / "500.html").read_text())
