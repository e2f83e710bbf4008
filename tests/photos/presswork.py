"""Pieces of work for the press: a module of its own, because a helper imports what it runs."""

import os
import signal
import sys
import time


def double(number):
    return 2 * number


def fail(text):
    raise LookupError(text)


def die():
    os.kill(os.getpid(), signal.SIGKILL)


def sleep(seconds):
    time.sleep(seconds)


def burn():
    while True:
        pass


def fill_memory():
    return len(b"x" * (4 << 30))


def who():
    return os.getpid()


def modules():
    return sorted(sys.modules)
