"""What the page's own code must never lose again: flushed writes, bytes instead of Blobs, no way round the outbox."""

import re
from pathlib import Path

import pytest

FOLDER = Path(__file__).resolve().parents[2] / "static" / "js"
START = FOLDER / "bay.js"
IMPORT = re.compile(r'^import [^"]*"\./([a-z0-9_-]+\.js)"', re.M)


def loaded(file: Path, found=None) -> dict[str, str]:
    """Every module the bay page loads, by name."""
    found = {} if found is None else found
    found[file.name] = file.read_text()
    for name in IMPORT.findall(found[file.name]):
        if name not in found:
            loaded(FOLDER / name, found)
    return found


SOURCES = loaded(START)


def calls(name: str, text: str) -> list[str]:
    """The arguments of every call of this name, nested brackets and all."""
    found = []
    for match in re.finditer(rf"\b{name}\(", text):
        depth, at = 1, match.end()
        while depth:
            depth += {"(": 1, ")": -1}.get(text[at], 0)
            at += 1
        found.append(text[match.end() : at - 1])
    return found


def test_the_reader_of_sources_sees_calls_and_imports():
    assert calls("put", "a.put({x: f(1)}); b.put(y)") == ["{x: f(1)}", "y"]
    assert {"db.js", "outbox.js", "sender.js", "settled.js", "sha256.js"} <= set(SOURCES)


def test_every_transaction_is_flushed_to_the_disk():
    opened = {name: calls("transaction", text) for name, text in SOURCES.items()}
    opened = {name: found for name, found in opened.items() if found}
    assert list(opened) == ["db.js"], "Only db.js opens transactions."
    assert all('durability: "strict"' in arguments for arguments in opened["db.js"])


def test_a_write_counts_when_its_transaction_is_complete():
    assert "tx.oncomplete = () => resolve(result)" in SOURCES["db.js"]


@pytest.mark.parametrize("name", SOURCES)
def test_no_blob_and_no_file_is_put_away(name):
    text = SOURCES[name]
    assert "new Blob" not in text and "new File" not in text and "FileReader" not in text
    for arguments in calls("put", text) + calls("add", text):
        assert not re.search(r"\b(file|blob|files)\b", arguments), arguments


def test_pieces_are_buffers_of_half_a_megabyte():
    text = SOURCES["outbox.js"]
    assert "PIECE = 512 * 1024" in text and "await file.arrayBuffer()" in text
    (piece,) = [arguments for arguments in calls("put", text) if "bytes:" in arguments]
    assert "bytes.slice(n * PIECE, (n + 1) * PIECE)" in piece


def test_number_and_tablet_live_in_one_database():
    everything = "\n".join(SOURCES.values())
    for arguments in calls("setItem", everything):
        assert not re.search(r"seq|tablet|number", arguments), arguments


def test_only_the_sender_talks_to_the_sync_addresses_and_with_care():
    for name, text in SOURCES.items():
        assert ("/sync/" in text) == (name == "sender.js")
    asking = {name: calls("fetch", text) for name, text in SOURCES.items() if calls("fetch", text)}
    assert set(asking) == {"sender.js", "refresh.js"}
    for text in (SOURCES["sender.js"], SOURCES["refresh.js"]):
        assert 'redirect: "error"' in text and "AbortController" in text
    assert "told.bay !== 1" in SOURCES["sender.js"]
    assert "navigator.onLine" not in "".join(SOURCES.values())


@pytest.mark.parametrize("name", SOURCES)
def test_modules_obey_the_strict_policy(name):
    assert not re.search(r"\beval\(|new Function|\.style\b|setAttribute\(.style|on[a-z]+=", SOURCES[name])
