"""The demo's shop in a folder of its own for each test: what is done to it is committed, as in a real one."""

import pytest

from tests.demo_on_disk import DemoShop


@pytest.fixture
def shop_on_disk(demo_on_disk, tmp_path) -> DemoShop:
    return demo_on_disk.copy(tmp_path / "data")


@pytest.fixture
def opened(shop_on_disk, django_db_blocker) -> DemoShop:
    """This very process works in the folder."""
    with shop_on_disk.opened(django_db_blocker):
        yield shop_on_disk


@pytest.fixture
def empty_place(tmp_path) -> DemoShop:
    return DemoShop(tmp_path / "elsewhere", {})
