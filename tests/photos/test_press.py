import subprocess
import sys
import textwrap
import threading
import time

import pytest

from shop import press
from tests.photos import presswork


def test_it_returns_what_the_work_returns_from_another_process():
    import os

    assert press.run(presswork.double, 21) == 42
    assert press.run("tests.photos.presswork:who") != os.getpid()


def test_what_the_work_raises_arrives_as_it_was_raised():
    with pytest.raises(LookupError, match="not on the shelf"):
        press.run(presswork.fail, "not on the shelf")
    assert press.run(presswork.double, 1) == 2


@pytest.mark.parametrize(
    ("work", "args", "said"),
    [
        (presswork.die, (), "stopped halfway"),
        (presswork.sleep, (60,), "too long"),
        (presswork.fill_memory, (), "more memory"),
    ],
)
def test_a_lost_helper_is_a_sentence_and_the_next_work_is_done(work, args, said):
    with pytest.raises(press.PressFailed, match=said):
        press.run(work, *args, timeout=3)
    assert press.run(presswork.double, 3) == 6


def test_a_busy_loop_is_stopped():
    started = time.monotonic()
    with pytest.raises(press.PressFailed):
        press.run(presswork.burn, timeout=2)
    assert time.monotonic() - started < 10


def test_one_lost_helper_does_not_take_the_other_ones_work():
    results = {}

    def wait():
        results["other"] = press.run("tests.photos.presswork:sleep", 2, timeout=20)

    beside = threading.Thread(target=wait)
    beside.start()
    time.sleep(0.8)
    with pytest.raises(press.PressFailed):
        press.run(presswork.die, timeout=5)
    beside.join()
    assert results == {"other": None}


def test_a_helper_that_died_at_rest_is_replaced_without_a_word():
    import os
    import signal

    os.kill(press.run(presswork.who), signal.SIGKILL)
    time.sleep(0.5)
    assert press.run(presswork.double, 4) == 8


def test_too_much_at_once_is_told_apart_from_a_failure(monkeypatch):
    monkeypatch.setattr(press, "WAIT_FOR_SLOT_S", 0.1)
    monkeypatch.setattr(press, "_slots", press.queue.LifoQueue)
    with pytest.raises(press.PressBusy, match="at once"):
        press.run(presswork.double, 1)


def test_a_photo_is_decoded_without_django(monkeypatch):
    """In a helper of its own: a warm one may have printed before, and printing asks for Django."""
    fresh = press.queue.LifoQueue()
    fresh.put(press._Slot())
    monkeypatch.setattr(press, "_slots", lambda: fresh)
    assert not [m for m in press.run(_after_decoding) if m.split(".")[0] == "django"]


def _after_decoding():
    import shop.photos.decode  # noqa: F401 - that it is loaded is the point

    return presswork.modules()


def test_helpers_end_when_their_parent_is_killed():
    code = """
        from shop import press
        import os, signal
        if __name__ == "__main__":
            print(press.run("tests.photos.presswork:who"), flush=True)
            os.kill(os.getpid(), signal.SIGKILL)
    """
    ran = [sys.executable, "-c", textwrap.dedent(code)]
    made = subprocess.run(ran, check=False, capture_output=True, text=True)
    helper = int(made.stdout)
    for _ in range(50):
        if not _alive(helper):
            return
        time.sleep(0.1)
    raise AssertionError(f"Helper {helper} lives on without its parent.")


def _alive(pid):
    try:
        with open(f"/proc/{pid}/stat") as stat:
            return stat.read().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False
