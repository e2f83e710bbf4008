"""A table of older papers as it is sent: the file, which column is what, and how its days are written."""

import base64
import binascii
from hashlib import sha256
from typing import Any

from django import forms

from shop.people.desk import DeskForm
from shop.warranty.columns import COLUMNS, DAYS, matched
from shop.warranty.old_papers import days_of
from shop.warranty.spreadsheet import MOST_BYTES, SEPARATORS, NoTable, Table, decode, read_table

TOO_LARGE = f"The file is larger than {MOST_BYTES // 1000} kB: bring it in in parts."


class TableForm(DeskForm):
    """The file travels on in `content`, so that nothing is kept here before it is brought in."""

    file = forms.FileField(
        label="The table, saved as CSV",
        required=False,
        widget=forms.FileInput({"accept": ".csv,.txt,.tsv,text/csv"}),
    )
    content = forms.CharField(required=False, widget=forms.HiddenInput)
    days = forms.ChoiceField(label="How its days are written", choices=list(DAYS.items()))

    def __init__(self, data=None, files=None, *, workshop, **kwargs):
        self.table: Table | None = None
        self.text, self.letters, self.problem = "", "", ""
        sent = files.get("file") if files else None
        if data is not None:
            data = data.copy()
            self._read(data, sent)
            if not data.get("days"):
                data["days"] = days_of(workshop)
        super().__init__(data, files, **kwargs)
        self.fields["file"].required = data is None
        self._add_columns()

    def _read(self, data, sent) -> None:
        try:
            raw = _bytes(data, sent)
            self.text, self.letters = decode(raw)
            self.table = read_table(self.text)
        except NoTable as no_table:
            self.problem = str(no_table)
            return
        data["content"] = base64.b64encode(raw).decode()
        if sent is not None or not any(f"c_{name}" in data for name in COLUMNS):
            found = matched(self.table.headings)
            for name in COLUMNS:
                data[f"c_{name}"] = found.get(name, "")

    def _add_columns(self) -> None:
        if self.table is None:
            return
        choices = [("", "none"), *((heading, heading) for heading in self.table.headings if heading)]
        for name, column in COLUMNS.items():
            self.fields[f"c_{name}"] = forms.ChoiceField(
                label=column.title,
                choices=choices,
                required=False,
                error_messages={"invalid_choice": "The table has no such column."},
            )

    def clean(self):
        if self.problem:
            self.add_error("file", self.problem)
        return super().clean()

    @property
    def columns(self) -> dict[str, str]:
        """Fields by the heading chosen for them."""
        return {name: told for name in COLUMNS if (told := self.cleaned_data.get(f"c_{name}"))}

    @property
    def column_fields(self) -> list[forms.BoundField]:
        return [self[f"c_{name}"] for name in COLUMNS] if self.table else []

    @property
    def parted(self) -> str:
        return SEPARATORS[self.table.separator] if self.table else ""

    def said(self) -> dict[str, Any]:
        """A table may hold names: a receipt keeps its digest alone."""
        return {
            "table": sha256(self.text.encode()).hexdigest(),
            "columns": self.columns,
            "days": self.cleaned_data["days"],
        }


def _bytes(data, sent) -> bytes:
    if sent is not None:
        if sent.size > MOST_BYTES:
            raise NoTable(TOO_LARGE)
        return sent.read()
    content = data.get("content", "")
    if not content:
        raise NoTable("Choose the file with the table.")
    try:
        return base64.b64decode(content, validate=True)
    except (binascii.Error, ValueError):
        raise NoTable("The file did not come through whole: choose it again.") from None
