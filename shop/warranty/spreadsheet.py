"""A table somebody saved from a spreadsheet: which letters it is written in, what parts its cells, and its rows.

Rows keep the number the spreadsheet shows beside them, so that whoever reads a complaint finds the row at once.
"""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

MOST_BYTES: Final = 600_000
MOST_ROWS: Final = 5_000
MOST_COLUMNS: Final = 100
SEPARATORS: Final = {",": "commas", ";": "semicolons", "\t": "tabs"}
_MARKS: Final = (
    (b"\xef\xbb\xbf", "utf-8-sig", "UTF-8"),
    (b"\xff\xfe", "utf-16", "UTF-16"),
    (b"\xfe\xff", "utf-16", "UTF-16"),
)


class NoTable(ValueError):
    """It cannot be read as a table; the text is a sentence that says why and what to do."""


@dataclass(frozen=True)
class Table:
    """`rows` are (number as the spreadsheet shows it, cells). Rows without any sign are left out."""

    headings: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    separator: str


def decode(data: bytes) -> tuple[str, str]:
    """The text and the name of the letters it was written in. NoTable for a workbook or anything else."""
    if not data.strip():
        raise NoTable("The file is empty.")
    if len(data) > MOST_BYTES:
        raise NoTable(f"The file is larger than {MOST_BYTES // 1000} kB: bring it in in parts.")
    if data[:2] == b"PK" or data[:4] == b"\xd0\xcf\x11\xe0":
        raise NoTable("This is a workbook. Save its sheet as CSV, then choose that file.")
    for mark, codec, name in _MARKS:
        if data.startswith(mark):
            return _plain(data, codec, name), name
    if b"\0" in data:
        codec = "utf-16-le" if data[1:2] == b"\0" else "utf-16-be"
        return _plain(data, codec, "UTF-16"), "UTF-16"
    try:
        return data.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        return _plain(data, "cp1252", "Windows-1252"), "Windows-1252"


def _plain(data: bytes, codec: str, name: str) -> str:
    try:
        text = data.decode(codec)
    except UnicodeDecodeError:
        raise NoTable(f"The file is not whole as {name}: save it as CSV in UTF-8.") from None
    if "\0" in text:
        raise NoTable("The file is no text: save the sheet as CSV in UTF-8.")
    return text


def read_table(text: str) -> Table:
    """The headings and rows. The separator is the one that parts the first row into the most cells.

    >>> read_table("Number;VIN\\r\\n7;X\\r\\n").rows
    ((2, ('7', 'X')),)
    """
    text, separator, first = _told(text)
    separator = separator or _likeliest(text)
    rows = list(_rows(text, separator, first))
    filled = [(number, cells) for number, cells in rows if any(cells)]
    if not filled:
        raise NoTable("The file is empty.")
    headings = _headings(filled[0][1])
    if len(filled) == 1:
        raise NoTable("The file has a row of headings and nothing under it.")
    return Table(headings, tuple(filled[1:]), separator)


def _told(text: str) -> tuple[str, str, int]:
    """Some programs write `sep=;` above the table and hide that line: it is no row."""
    line, _, rest = text.partition("\n")
    said = line.strip().lower()
    if said.startswith("sep=") and len(line.rstrip("\r\n")) == 5 and line[4] in SEPARATORS:
        return rest, line[4], 1
    return text, "", 1


def _likeliest(text: str) -> str:
    start = text.lstrip("\r\n")
    return max(SEPARATORS, key=lambda separator: len(_first(start, separator)))


def _first(text: str, separator: str) -> list[str]:
    try:
        return next(csv.reader(io.StringIO(text, newline=""), delimiter=separator), [])
    except csv.Error:
        return []


def _rows(text: str, separator: str, first: int) -> Iterator[tuple[int, tuple[str, ...]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    number = first - 1
    try:
        for number, cells in enumerate(reader, first):
            if number > MOST_ROWS + 1:
                raise NoTable(f"The file has more than {MOST_ROWS} rows: bring it in in parts.")
            yield number, tuple(" ".join(cell.split()) for cell in cells)
    except csv.Error as error:
        where = f"After row {number}" if number else "In the first row"
        raise NoTable(f"{where} the file cannot be read: look for a quotation mark too many.") from error


def _headings(cells: tuple[str, ...]) -> tuple[str, ...]:
    while cells and not cells[-1]:
        cells = cells[:-1]
    if len(cells) > MOST_COLUMNS:
        raise NoTable(f"The file has more than {MOST_COLUMNS} columns: keep those that are needed.")
    twice = next((cell for place, cell in enumerate(cells) if cell and cell in cells[:place]), "")
    if twice:
        raise NoTable(f"Two columns are called “{twice[:60]}”: give each a name of its own.")
    return cells
