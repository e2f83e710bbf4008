"""Long tests, for `make soak` alone: they are not even collected unless the marker asks for them."""

import pytest

from tests.demo_on_disk import DemoShop


def pytest_ignore_collect(collection_path, config):
    return None if "soak" in (config.option.markexpr or "") else True


@pytest.fixture
def shop_on_disk(demo_on_disk, tmp_path) -> DemoShop:
    return demo_on_disk.copy(tmp_path / "data")


@pytest.fixture
def opened(shop_on_disk, django_db_blocker) -> DemoShop:
    with shop_on_disk.opened(django_db_blocker):
        yield shop_on_disk
