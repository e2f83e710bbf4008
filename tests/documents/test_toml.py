"""Documents as text: what is read, what is written, and on which line a path stands."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.documents import toml
from shop.documents.check import faults

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
BUILT_IN = sorted(FIXTURES.rglob("*.toml"))

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
keys = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=8)
leaves = st.one_of(texts, st.booleans(), st.integers(-toml.MOST_WHOLE, toml.MOST_WHOLE))
values = st.recursive(
    leaves,
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(keys, inner, max_size=4)),
    max_leaves=15,
)


@pytest.mark.parametrize("path", BUILT_IN, ids=lambda path: path.name)
def test_a_built_in_document_comes_back_as_it_was(path):
    body = tomllib.loads(path.read_text(encoding="utf-8"))
    assert toml.parsed(toml.written(body)).body == body


@given(st.dictionaries(keys, values, max_size=5))
def test_whatever_is_written_reads_back_the_same(body):
    assert tomllib.loads(toml.written(body)) == body


def test_a_condition_stands_on_the_line_of_its_key():
    body = {"lines": [{"key": "wash.rinse", "when": {"any": ["hardware", {"not": "large"}]}}]}
    assert 'when = { any = ["hardware", { not = "large" }] }' in toml.written(body)


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ('kind = "plan"\nname = \n', 2, "Line 2 cannot be read: invalid value"),
        ('kind = "plan"\n[[lines]\n', 2, "Line 2 cannot be read"),
        ('kind = "plan"\nkind = "terms"\n', 2, "Line 2 cannot be read: cannot overwrite a value"),
        ('name = "never closed', 0, "The end of the text cannot be read"),
        ('kind = "plan"\n\n[cure]\nfrom = 2026-05-01\n', 4, "cure.from: a day or time is written as a text"),
        ("hours = 24.5\n", 1, "hours: 24.5 is a broken number"),
        ("hours = nan\n", 1, "hours: nan is a broken number"),
        ("hours = 9007199254740992\n", 1, "hours: 9007199254740992 is more than"),
        ("hours = " + "9" * 5000, 0, "a number is too long"),
        ("x = " + "[" * 20_000, 0, "cannot be read"),
        ("# " + "x" * toml.MOST_SIGNS, 0, "too long"),
    ],
)
def test_a_text_nobody_can_read_says_where(text, line, said):
    found = toml.parsed(text)
    assert found.body == {} and found.faults[0].line == line
    assert said in found.faults[0].text


def test_line_ends_of_any_machine_are_read():
    assert toml.parsed('a = 1\r\nb = """x\r\ny"""\r\n').body == {"a": 1, "b": "x\ny"}


TEXT = """kind = "plan"
title.en = "Ours"

[cure]  # by the sheet
hours = 24

[[lines]]
key = "wash.first"
text.en = "Wash"

[[lines]]
key = "wash.second"
text.en = "Rinse"
features = ["a",
  "b"]

[[lines.fields]]
name = "one"

[[lines.fields]]
name = "two"
"quoted key" = 1
"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        ("kind", 1),
        ("title.en", 2),
        ("title", 2),
        ("title.de", 2),
        ("cure", 4),
        ("cure.hours", 5),
        ("cure.bands", 4),
        ("lines", 0),
        ("lines[0]", 7),
        ("lines[0].text.en", 9),
        ("lines[1].key", 12),
        ("lines[1].features[1]", 14),
        ("lines[1].fields[0].name", 18),
        ("lines[1].fields[1]", 20),
        ("lines[1].fields[1].name", 21),
        ("lines[1].fields[1].quoted key", 22),
        ("nowhere.at.all", 0),
        ("", 0),
    ],
)
def test_a_path_is_found_on_its_line(path, line):
    assert toml.line_of(TEXT, path) == line


@pytest.mark.parametrize("path", ["plans/builtin.toml", "terms/builtin.toml", "films/defaults.toml"])
def test_each_fault_of_a_broken_document_is_found_on_a_line(path):
    """Every number of the document made a text: each fault of shape leads to the very line that holds it."""
    text = (FIXTURES / path).read_text(encoding="utf-8")
    lines = [
        f'{line.split("=")[0]}= "much"' if line.split("=")[-1].strip().isdigit() else line
        for line in text.splitlines()
    ]
    broken = "\n".join(lines)
    told = [sentence for sentence in faults(toml.parsed(broken).body) if "“much”" in sentence]
    assert len(told) == sum(line.endswith('= "much"') for line in lines) > 3
    for sentence in told:
        assert '= "much"' in lines[toml.line_of(broken, sentence.partition(": ")[0]) - 1], sentence
