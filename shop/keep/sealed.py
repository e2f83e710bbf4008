"""Keys sealed under a passphrase: AES-256-GCM with a key made by scrypt (RFC 7914), as one JSON text.

The header is bound to what it seals, so a changed cost or salt does not open to something else.
"""

import base64
import json
import os
from collections.abc import Mapping
from typing import Final

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

# 128 MiB and about half a second a try: bearable once a night, dear for whoever found the disk.
COST: Final = 2**17
BLOCK: Final = 8
SHORTEST: Final = 12
_DEAREST: Final = 2**20


class Locked(Exception):
    """The passphrase does not open it, or it was damaged; one cannot be told from the other."""


def problem(passphrase: str) -> str:
    """What is wrong with a passphrase to seal with, as a sentence; empty when nothing is."""
    if len(passphrase) < SHORTEST:
        return f"The passphrase is too short: it takes at least {SHORTEST} characters."
    return ""


def seal(names: Mapping[str, bytes], passphrase: str) -> bytes:
    """Files by name, sealed. Only their number and sizes can be guessed from the outside."""
    salt, nonce = os.urandom(16), os.urandom(12)
    header = {
        "sealed": 1,
        "kdf": "scrypt",
        "n": COST,
        "r": BLOCK,
        "p": 1,
        "salt": _text(salt),
        "nonce": _text(nonce),
    }
    inside = json.dumps({name: _text(data) for name, data in sorted(names.items())}).encode()
    closed = AESGCM(_key(passphrase, salt, COST)).encrypt(nonce, inside, _bound(header))
    return json.dumps({**header, "data": _text(closed)}).encode()


def unseal(data: bytes, passphrase: str) -> dict[str, bytes]:
    """The files by name, or Locked."""
    try:
        told = json.loads(data)
        closed = base64.b64decode(told.pop("data"), validate=True)
        if told["kdf"] != "scrypt" or not 2 <= told["n"] <= _DEAREST or told["r"] != BLOCK or told["p"] != 1:
            raise Locked("These keys were sealed in a way this program does not know.")
        key = _key(passphrase, base64.b64decode(told["salt"], validate=True), told["n"])
        nonce = base64.b64decode(told["nonce"], validate=True)
        inside = json.loads(AESGCM(key).decrypt(nonce, closed, _bound(told)))
        return {name: base64.b64decode(text, validate=True) for name, text in inside.items()}
    except (InvalidTag, ValueError, KeyError, TypeError, AttributeError):
        raise Locked("The passphrase does not open these keys, or they are damaged.") from None


def _key(passphrase: str, salt: bytes, cost: int) -> bytes:
    return Scrypt(salt=salt, length=32, n=cost, r=BLOCK, p=1).derive(passphrase.encode())


def _bound(header: Mapping[str, object]) -> bytes:
    return json.dumps(header, sort_keys=True).encode()


def _text(data: bytes) -> str:
    return base64.b64encode(data).decode()
