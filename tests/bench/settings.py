"""The program's own settings, and one more address: the least that a tick would cost anybody."""

from shop.settings import *  # noqa: F403

ROOT_URLCONF = "tests.bench.urls"
