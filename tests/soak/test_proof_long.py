"""Ten thousand photos: what proving their bytes costs, beside `sha256sum` of the same files in the same minute."""

import os
import random
import subprocess
import sys
import time

import pytest

from shop import clock, folder, store
from shop.keep import prove_files
from shop.models import Photo, Workshop

pytestmark = pytest.mark.soak
PHOTOS = 500 if os.environ.get("BAYPROOF_SOAK") == "short" else 10_000
BYTES = (60_000, 180_000)
ROUNDS = 3
AT_MOST = 1.2


@pytest.fixture
def many(opened):
    """Photos as rows and files; what is in them does not matter to a digest."""
    chance, shop = random.Random(4), Workshop.objects.get()
    Photo.objects.update(verdict={})
    rows = []
    for _ in range(PHOTOS):
        data = chance.randbytes(chance.randint(*BYTES))
        digest = store.digest_of(data)
        for variant in prove_files.VARIANTS:
            path = folder.path(store.address_of(digest, variant, "photos"))
            path.parent.mkdir(parents=True, exist_ok=True)
            # Smaller sizes of no bytes: only their being there is asked, as of old photos without a noted digest.
            path.write_bytes(data if variant == store.ORIGINAL else b"")
        rows.append(Photo(workshop=shop, sha256=digest, size=len(data), type="jpeg", w=1600, h=1200,
                          verdict={}, kept_at=clock.now()))  # fmt: skip
    Photo.objects.bulk_create(rows, batch_size=500)
    return [
        folder.path(store.address_of(row.sha256, store.ORIGINAL, "photos")) for row in Photo.objects.all()
    ]


def test_ten_thousand_photos_are_proved_at_little_more_than_their_hashing(many, tmp_path, capsys):
    listed = tmp_path / "files"
    listed.write_text("\0".join(map(str, many)))
    spent = {"prove": [], "sha256sum": []}
    for _ in range(ROUNDS):
        began = time.perf_counter()
        check = prove_files.photos(lambda *_: None)
        spent["prove"].append(time.perf_counter() - began)
        assert check.checked == len(many) * len(prove_files.VARIANTS) and not check.wrong
        began = time.perf_counter()
        with listed.open("rb") as names:
            subprocess.run(["xargs", "-0", "sha256sum"], stdin=names, stdout=subprocess.DEVNULL, check=True)
        spent["sha256sum"].append(time.perf_counter() - began)
    best = {name: min(times) for name, times in spent.items()}
    ratio = best["prove"] / best["sha256sum"]
    size = sum(path.stat().st_size for path in many) / 1e6
    with capsys.disabled():
        sys.stdout.write(
            f"\n{len(many)} photos, {size:.0f} MB: proved in {best['prove']:.2f} s, "
            f"sha256sum {best['sha256sum']:.2f} s, ratio {ratio:.2f}\n"
        )
    assert ratio <= AT_MOST
