"""Each run gets a data folder of its own, a quick password hasher and a clock that stands still when asked."""

import atexit
import os
import shutil
import tempfile

_data = tempfile.mkdtemp(prefix="bayproof-test-")
os.environ["SHOP_DATA"] = _data
os.environ.setdefault("SHOP_URL", "")
atexit.register(shutil.rmtree, _data, ignore_errors=True)

import pytest  # noqa: E402
from hypothesis import settings as hypothesis_settings  # noqa: E402

# Two shared cores: a slow example is no fault of the rule.
hypothesis_settings.register_profile("bay", deadline=None)
hypothesis_settings.load_profile("bay")


@pytest.fixture(autouse=True)
def quick_hashes(settings):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(autouse=True)
def running_clock():
    from shop import clock

    yield
    clock.set_to(None)


@pytest.fixture(scope="session")
def demo_on_disk(tmp_path_factory):
    """The demo's shop, for looking at only; `DemoShop.copy` for whoever changes it."""
    from tests.demo_on_disk import told_once

    base = tmp_path_factory.getbasetemp()
    return told_once(base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base)
