"""The fingerprint of a document: two shops with the same digest obey the same words."""

from collections.abc import Mapping
from hashlib import sha256
from typing import Any

import rfc8785


def canonical(document: Mapping[str, Any]) -> bytes:
    """Canonical JSON (RFC 8785). TypeError for a float: a figure that rounds differently elsewhere is no
    figure to agree on; documents hold integers with their unit in the name."""
    _refuse_floats(document, "")
    return rfc8785.dumps(dict(document))


def digest(document: Mapping[str, Any]) -> str:
    """SHA-256 over the canonical JSON, 64 lower-case hex digits; independent of the order of keys."""
    return sha256(canonical(document)).hexdigest()


def _refuse_floats(value: object, path: str) -> None:
    if isinstance(value, float):
        raise TypeError(f"{path or 'the document'} is {value!r}; documents hold whole numbers only.")
    if isinstance(value, Mapping):
        for key, part in value.items():
            _refuse_floats(part, f"{path}.{key}" if path else str(key))
    elif isinstance(value, list | tuple):
        for number, part in enumerate(value):
            _refuse_floats(part, f"{path}[{number}]")
