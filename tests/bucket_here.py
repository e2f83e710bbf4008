"""A bucket on this machine, behind a server that speaks S3; other processes of a test reach it as well."""

import os
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from django.test import override_settings
from moto.server import ThreadedMotoServer

KEYS = {"AWS_ACCESS_KEY_ID": "shop", "AWS_SECRET_ACCESS_KEY": "invented", "AWS_DEFAULT_REGION": "us-east-1"}


@dataclass(frozen=True)
class Here:
    name: str
    endpoint: str

    def environment(self) -> dict[str, str]:
        """For another process of the shop."""
        return {**KEYS, "SHOP_STORE": f"s3://{self.name}/bay", "SHOP_STORE_ENDPOINT": self.endpoint}

    def client(self):
        from shop import bucket

        return bucket._client(self.endpoint)

    def another(self) -> "Here":
        """A second, empty bucket behind the same server."""
        here = Here(f"shop-{uuid.uuid4().hex[:8]}", self.endpoint)
        here.client().create_bucket(Bucket=here.name)
        return here

    @contextmanager
    def used(self) -> Iterator["Here"]:
        """This process keeps its photos and papers there."""
        with override_settings(SHOP_STORE=f"{self.name}/bay", SHOP_STORE_ENDPOINT=self.endpoint):
            yield self


@contextmanager
def bucket_here() -> Iterator[Here]:
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    before = {name: os.environ.get(name) for name in KEYS}
    os.environ |= KEYS
    try:
        host, port = server.get_host_and_port()
        yield Here("", f"http://{host}:{port}").another()
    finally:
        server.stop()
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value
