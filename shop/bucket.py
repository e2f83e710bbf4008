"""Bytes at an address in an S3-compatible bucket, for shops served by more than one machine.

`SHOP_STORE` names the bucket, `SHOP_STORE_ENDPOINT` where it is, boto3's own variables hold the credentials. A put
is one request with the digest beside it: the bucket refuses bytes that changed on the way, and nobody ever sees half
an object. boto3 and not a storage class of Django's, because those hand no digest over for a single object.
"""

import base64
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from django.conf import settings

_PIECE = 1 << 20
MOST_AT_ONCE = 1000
GONE = {"NoSuchKey", "404", "NotFound"}


class Unreachable(Exception):
    """The bucket did not answer, or refused what it has to allow; the text says which."""


def put(address: str, data: bytes | Path, own: str) -> None:
    """Keep these bytes, whose digest is `own`. Sent again even when they are there: what was damaged is whole then."""
    told = {"Key": _key(address), "ChecksumSHA256": base64.b64encode(bytes.fromhex(own)).decode()}
    with _answering() as client:
        if isinstance(data, bytes):
            client.put_object(Bucket=_bucket(), Body=data, **told)
            return
        with data.open("rb") as file:
            client.put_object(Bucket=_bucket(), Body=file, **told)


def read(address: str) -> bytes | None:
    with _answering() as client:
        found = _object(client, address)
        return found["Body"].read() if found else None


def has(address: str) -> bool:
    from botocore.exceptions import ClientError

    with _answering() as client:
        try:
            client.head_object(Bucket=_bucket(), Key=_key(address))
        except ClientError as fault:
            if fault.response["Error"]["Code"] in GONE:
                return False
            raise
        return True


def digest(address: str) -> str | None:
    """Of the bytes there, read again and not as the bucket remembers it; None where there are none."""
    with _answering() as client:
        found = _object(client, address)
        if not found:
            return None
        running = sha256()
        for piece in found["Body"].iter_chunks(_PIECE):
            running.update(piece)
        return running.hexdigest()


def names(shelf: str) -> Iterator[str]:
    """The last part of every address on a shelf, in order."""
    for key, _ in _listed(f"{shelf}/"):
        yield key.rpartition("/")[2]


def forget(addresses: Iterable[str]) -> None:
    keys = [{"Key": _key(address)} for address in addresses]
    with _answering() as client:
        for start in range(0, len(keys), MOST_AT_ONCE):
            some = {"Objects": keys[start : start + MOST_AT_ONCE], "Quiet": True}
            left = client.delete_objects(Bucket=_bucket(), Delete=some).get("Errors")
            if left:
                raise Unreachable(f"The bucket kept what has to go: {left[0].get('Code', '')}.")


def note(address: str, data: bytes) -> None:
    put(address, data, sha256(data).hexdigest())


def reach() -> None:
    """Unreachable, or nothing."""
    with _answering() as client:
        client.head_bucket(Bucket=_bucket())


def sweep(shelf: str, before: float) -> int:
    """There are no halves in a bucket."""
    return 0


def older(shelf: str, before: float) -> list[str]:
    """Addresses on a shelf that were put before this POSIX time."""
    moment = datetime.fromtimestamp(before, UTC)
    start = len(_prefix())
    return [key[start:] for key, changed in _listed(f"{shelf}/") if changed < moment]


def _listed(start: str) -> Iterator[tuple[str, datetime]]:
    with _answering() as client:
        pages = client.get_paginator("list_objects_v2").paginate(Bucket=_bucket(), Prefix=_key(start))
        for page in pages:
            for found in page.get("Contents", ()):
                yield found["Key"], found["LastModified"]


def _object(client, address: str) -> dict[str, Any] | None:
    from botocore.exceptions import ClientError

    try:
        return client.get_object(Bucket=_bucket(), Key=_key(address))
    except ClientError as fault:
        if fault.response["Error"]["Code"] in GONE:
            return None
        raise


def _bucket() -> str:
    return settings.SHOP_STORE.partition("/")[0]


def _prefix() -> str:
    inside = settings.SHOP_STORE.partition("/")[2].strip("/")
    return f"{inside}/" if inside else ""


def _key(address: str) -> str:
    return _prefix() + address


@contextmanager
def _answering() -> Iterator[Any]:
    """The client; whatever it meets on the way is one kind of trouble: the store cannot be reached."""
    from botocore.exceptions import BotoCoreError, ClientError

    try:
        yield _client(settings.SHOP_STORE_ENDPOINT)
    except ClientError as fault:
        code = fault.response["Error"].get("Code", "")
        raise Unreachable(f"The bucket {_bucket()} answered {code}.") from fault
    except (BotoCoreError, OSError) as fault:
        raise Unreachable(f"The bucket {_bucket()} cannot be reached.") from fault


@cache
def _client(endpoint: str):
    """One a process: it is slow to make, and safe for threads. Imported here, so that a shop on folders never does."""
    import boto3
    from botocore.config import Config

    patience = Config(
        connect_timeout=5, read_timeout=30, retries={"mode": "standard", "total_max_attempts": 3}
    )
    return boto3.client("s3", endpoint_url=endpoint or None, config=patience)
