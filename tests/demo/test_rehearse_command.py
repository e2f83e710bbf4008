"""The command: where it may run, how it ends, what it prints."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests import make
from tests.demo.practice import line

ROOT = Path(__file__).resolve().parent.parent.parent
SET_UP = {
    "name": "Quay Street Film Works",
    "address": "4 Quay Street",
    "zone": "Europe/Madrid",
    "country": "ES",
    "public_url": "http://localhost:8000",
    "owner_name": "Petra Lindqvist",
    "password": "harbour-lamp-7",
    "pin": "719304",
}


def manage(folder: Path, *words: str, text: str = ""):
    kept = {name: value for name, value in os.environ.items() if not name.startswith("SHOP_")}
    return subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), *words],
        env=kept | {"SHOP_DATA": str(folder), "PYTHONDONTWRITEBYTECODE": "1"},
        input=text,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def answers(done) -> list[dict]:
    return [json.loads(row) for row in done.stdout.splitlines()]


def test_from_an_empty_folder_to_a_car(tmp_path):
    script = tmp_path / "acts.jsonl"
    script.write_text(
        "\n".join(
            [
                line("set_up", as_="petra", **SET_UP),
                line("set_up", **SET_UP),
                line("add_person", "$petra.id", name="Dora", roles=["desk"], pin="904627", as_="dora"),
                line(
                    "take_in",
                    "$dora.id",
                    name="Ana Berg",
                    vin=make.VIN,
                    model="sedan",
                    colour="grey",
                    as_="car",
                ),
                line("cancel_job", "$dora.id", job="$car.id"),
            ]
        )
    )
    done = manage(tmp_path / "data", "rehearse", str(script), "--empty", "--json")
    assert done.returncode == 0, done.stderr
    assert [(a["n"], a["ok"], a["reasons"]) for a in answers(done)] == [
        (1, True, []), (2, False, ["already_set_up"]), (3, True, []), (4, True, []), (5, False, ["reason_missing"]),
    ]  # fmt: skip

    again = manage(tmp_path / "data", "rehearse", "-", "--json", text=line("set_up", at="09:30:00", **SET_UP))
    assert (again.returncode, answers(again)[0]["reasons"]) == (0, ["already_set_up"])

    twice = manage(tmp_path / "data", "rehearse", str(script), "--empty", "--json")
    assert twice.returncode == 2
    assert "is not empty" in twice.stderr


def test_a_real_shop_is_never_rehearsed_in(tmp_path):
    folder = tmp_path / "data"
    assert manage(folder, "rehearse", "-", "--empty", text=line("set_up", **SET_UP)).returncode == 0
    (folder / "this-is-a-demo").unlink()
    for more in ([], ["--empty"]):
        done = manage(folder, "rehearse", "-", *more, text=line("note", 1, job=1, text="x"))
        assert done.returncode == 2
        assert "holds a real shop" in done.stderr


@pytest.mark.parametrize(
    ("words", "text", "sentence"),
    [
        (["-"], line("set_up", **SET_UP), "is empty: make a demo there first"),
        (["-", "--empty"], line("fly"), "there is no verb"),
        (["-", "--empty"], "not JSON", "is not JSON"),
        (["nowhere.jsonl"], "", "No such file"),
        ([], "", "Name the file"),
    ],
)
def test_wrong_use_ends_with_two_and_a_sentence(tmp_path, words, text, sentence):
    done = manage(tmp_path / "data", "rehearse", *words, text=text)
    assert (done.returncode, done.stdout) == (2, "")
    assert sentence in done.stderr
    assert "Traceback" not in done.stderr


def test_the_verbs_are_listed(tmp_path):
    listed = json.loads(manage(tmp_path / "data", "rehearse", "--verbs", "--json").stdout)
    assert {"verb", "identity", "args"} == set(listed[0])
    answer = next(verb for verb in listed if verb["verb"] == "answer")
    assert {"name": "key", "type": "str", "required": True} in answer["args"]
    assert "answer (claimed): job: job, key: str" in manage(tmp_path / "data", "rehearse", "--verbs").stdout
