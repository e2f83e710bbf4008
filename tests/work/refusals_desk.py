"""Acts of the desk and the owner, each with one fault at a time and the reasons that has to bring."""

from datetime import timedelta

from shop import models
from tests import make
from tests.work.refusal_cases import (
    ELSE_VIN,
    Case,
    expire_film,
    fresh_paint,
    hold_film,
    job,
    lamps_tried_on_arrival,
    many,
    told,
)
from tests.work.world import STROKES


def shorten(world):
    models.Cut.objects.create(roll=world.roll, length_mm=100, made_at=world.now)


OLD_TABLE = (
    "Number,VIN,Model,Colour,Panels,First day,Last day\n"
    "S-17,1M8GDM9AXKP042788,Sedan,red,Hood,2024-05-01,2029-05-01\n"
)
CAR_ARRIVES = many(
    "arrived", "take_in", "dora",
    {"name": "Noor Haddad", "vin": ELSE_VIN, "model": "sedan", "colour": "grey"},
    ("a VIN too short", "vin_length", {"vin": "ZZZ19TV82GEU5728"}),
    ("a VIN with an O", "vin_letters", {"vin": "ZZZO9TV82GEU57286"}),
    ("a check digit of North America that fails", "vin_check_digit", {"vin": "1M8GDM9A0KP042788"}),
    ("neither VIN nor chassis", "vin_length", {"vin": ""}, {"at_the_field": True}),
    ("a chassis number without its reason", "reason_missing", {"vin": None, "chassis": "AB 123"}),
    ("no name", "field_missing", {"name": ""}, {"at_the_field": True}),
    ("an odometer below nought", "value_wrong", {"odometer_km": -5}, {"at_the_field": True}),
    ("a mail address without an at", "value_wrong", {"mail": "somewhere"}),
    ("a phone number of three digits", "value_wrong", {"phone": "112"}),
    ("a car that is here", "already_here", {"vin": make.VIN, "model": "Four-door sedan"}),
    ("an installer", "not_allowed", {}, {"who": "ines"}),
)  # fmt: skip

STOCK = many(
    "arrived", "receive_roll", "dora",
    {"name": "Harbour slate", "lot": "L-1", "roll": "R-1", "width_mm": 1520, "length_mm": 15000,
     "received_on": "2026-03-01", "expires_on": "2027-01-01"},
    ("good until before it came", "expires_before_received", {"expires_on": "2026-02-01"}),
    ("no lot", "value_wrong", {"lot": ""}, {"at_the_field": True}),
    ("a width no roll has", "roll_size_odd", {"width_mm": 15}),
    ("a name that is taken", "name_taken", {"name": "Harbour teal"}),
    ("an inspector", "not_allowed", {}, {"who": "marek", "not_by": ("page",)}),
) + many(
    "arrived", "receive_lot", "dora",
    {"kind": "primer", "name": "Harbour primer", "lot": "P-9", "received_on": "2026-03-01"},
    ("a lot that is there", "already_on_shelf", {"lot": "P-1"}),
    ("received on a day to come", "value_wrong", {"received_on": "2026-04-01"}),
) + many(
    "arrived", "quarantine_lot", "dora", {"lot": lambda world: world.roll.lot_id, "reason": "odd smell"},
    ("held back already", "lot_quarantined", {}, {"before": hold_film}),
    ("no reason", "value_wrong", {"reason": ""}, {"at_the_field": True}),
)  # fmt: skip

CUTS = many(
    "set_out", "cut_film", "petra",
    {"job": job, "panel": "mirror-left.1", "roll": lambda world: world.roll.pk, "length_mm": 300, "width_mm": 400},
    ("another roll", "lot_wrong", {"roll": lambda world: world.spare.pk}),
    ("a roll past its day", "roll_expired", {}, {"before": expire_film}),
    ("a lot held back", "lot_quarantined", {}, {"before": hold_film}),
    ("no length", "value_wrong", {"length_mm": None}),
    ("a panel that is not set out", "superseded", {"panel": "roof.1"}),
) + many(
    "arrived", "scrap", "petra",
    {"roll": lambda world: world.roll.pk, "length_mm": 300, "reason": "creased"},
    ("more than is left", "roll_short", {"length_mm": 15_000}, {"before": shorten}),
    ("no reason", "value_wrong", {"reason": ""}),
    ("neither roll nor offcut", "field_missing", {"roll": None}),
) + many(
    "arrived", "keep_offcut", "petra",
    {"roll": lambda world: world.roll.pk, "length_mm": 300, "width_mm": 400, "shelf": "B 2"},
    ("wider than its roll", "value_wrong", {"width_mm": 1600}),
    ("no shelf", "value_wrong", {"shelf": ""}),
) + many(
    "arrived", "reserve_film", "petra", {"lot": lambda world: world.roll.lot_id, "length_mm": 3000},
    ("more than any shop keeps", "value_wrong", {"length_mm": 900_000}),
    ("an installer", "not_allowed", {}, {"who": "ines"}),
) + many(
    "arrived", "make_mix", "petra", {"lot": "S-1", "total_ml10": 10_000, "ratio": "1:10", "meant": "in"},
    ("a ratio that is read two ways", "value_wrong", {"meant": None}),
    ("film", "value_wrong", {"lot": lambda world: world.roll.lot_id}),
)  # fmt: skip

PEOPLE = many(
    "arrived", "add_person", "petra", {"name": "Lea Brandt", "roles": ["installer"]},
    ("a name somebody has", "name_taken", {"name": "Ines"}),
    ("no role", "value_wrong", {"roles": []}, {"at_the_field": True}),
    ("the desk", "not_allowed", {}, {"who": "dora"}),
)  # fmt: skip

INTAKE = many(
    "arrived", "mark_damage", "dora", {"job": job, "panel": "hood", "kind": "scratch", "x_mil": 1, "y_mil": 1},
    ("outside the panel", "value_wrong", {"x_mil": 1001}, {"at_the_field": True}),
    ("no kind", "value_wrong", {"kind": ""}, {"at_the_field": True}),
    ("an installer", "not_allowed", {}, {"who": "ines"}),
) + many(
    "arrived", "agree_intake", "dora", {"job": job, "strokes": STROKES},
    ("nothing drawn", "customer_unsigned", {"strokes": []}),
    ("another text than was read", "screen_changed", {"text_seen": "The car is spotless."}),
) + many(
    "arrived", "accept_paint", "dora", {"job": job, "panel": "mirror-left", "strokes": STROKES},
    ("a dot for a signature", "customer_unsigned", {"strokes": [[[5, 5]]]}),
    before=fresh_paint,
) + many(
    "arrived", "measure_paint", "dora", {"job": job, "panel": "hood", "readings_um10": [1150, 1160, 1150]},
    ("two readings", "value_wrong", {"readings_um10": [1150, 1160]}),
    ("a panel of plastic", "value_wrong", {"panel": "mirror-left"}),
    ("a panel this car has not", "not_asked", {"panel": "wing"}),
    ("an installer", "not_allowed", {}, {"who": "ines"}),
) + many(
    "arrived", "try_devices", "dora", {"job": job, "when": "before", "found": {"cameras": "works"}},
    ("nothing tried", "field_missing", {"found": {}}),
    ("faulty without a word", "field_missing", {"found": {"cameras": "faulty"}}),
    ("something no car has", "value_wrong", {"found": {"wings": "works"}}),
    ("an inspector", "not_allowed", {}, {"who": "marek"}),
) + many(
    "arrived", "bring_in_papers", "dora", {"text": OLD_TABLE},
    ("no table", "value_wrong", {"text": "Number"}),
    ("a column missing", "field_missing", {"text": OLD_TABLE.replace("Panels", "Remarks")}),
    ("a bad VIN", "value_wrong", {"text": OLD_TABLE.replace("1M8GDM9A", "1M8")}),
    ("a heading it has not", "value_wrong", {"columns": {"number": "Nummer"}}),
    ("an installer", "not_allowed", {}, {"who": "ines"}),
) + many(
    "arrived", "cancel_job", "dora", {"job": job, "why": "sold"},
    ("no reason", "reason_missing", {"why": ""}),
)  # fmt: skip

SET_OUT = many(
    "arrived", "set_out_many", "petra",
    {"job": job, "panels": ["hood"], "roll": lambda world: world.roll.pk,
     "people": lambda world: [world.ines.pk, world.jonas.pk]},
    ("a roll past its day", "roll_expired", {}, {"before": expire_film}),
    ("a lot held back", "lot_quarantined", {}, {"before": hold_film}),
    ("somebody who is no installer", "value_wrong", {"people": lambda w: [w.marek.pk]}, {"at_the_field": True}),
    ("an installer", "not_allowed", {}, {"who": "ines"}),
) + many(
    "set_out", "set_out_many", "petra",
    {"job": job, "panels": ["hood"], "roll": lambda world: world.spare.pk},
    ("a second lot on one car", "lots_mixed", {"roll": lambda world: world.other_lot.pk}),
)  # fmt: skip

HAND = {"job": job, "on": lambda world: world.today().isoformat(), "strokes": STROKES}
LEAVING = [
    *many(
    "released", "hand_over", "dora", HAND,
    ("tomorrow", "day_wrong", {"on": lambda world: (world.today() + timedelta(days=1)).isoformat()}),
    ("a day before the release", "day_wrong", {"on": "2026-03-01"}),
    ("no signature", "customer_unsigned", {"strokes": []}),
    ("a wrong PIN", "pin_wrong", {}, {"pin": "111999"}),
    ("an installer", "not_allowed", {}, {"who": "ines"}),
    ("a defect that is open", "defect_open", {}, {"before": lambda world: world.defect(stage="cure")}),
    ("lamps not tried again", "not_tried_after", {}, {"before": lamps_tried_on_arrival}),
    pin=make.PIN,
    ),
    Case("cured", "hand_over", "not released", {"not_released"}, "dora", told(HAND), pin=make.PIN),
    Case("handed_over", "hand_over", "handed over already", {"already_handed_over"}, "dora", told(HAND), pin=make.PIN,
         not_by=("page",)),
]  # fmt: skip

PAPER = [
    *many(
        "handed_over", "issue", "dora", {"job": job},
        ("a wrong PIN", "pin_wrong", {}, {"pin": "111999"}),
        ("an installer", "not_allowed", {}, {"who": "ines"}),
        pin=make.PIN,
    ),
        Case("issued", "issue", "issued already", {"already_issued"}, "dora", told({"job": job}), pin=make.PIN),
        Case("released", "issue", "not handed over", {"not_handed_over"}, "dora", told({"job": job}), pin=make.PIN),
        Case("arrived", "issue", "nothing done", {"not_released", "not_handed_over"}, "dora", told({"job": job}),
             pin=make.PIN),
    *many(
        "issued", "correct_certificate", "dora",
        {"certificate": lambda world: world.certificate().pk, "reason": "The colour was read wrong."},
        ("no reason", "reason_missing", {"reason": ""}, {"at_the_field": True}),
        ("an installer", "not_allowed", {}, {"who": "ines"}),
        pin=make.PIN,
    ),
    *many(
        "issued", "withdraw", "petra",
        {"certificate": lambda world: world.certificate().pk, "why": "Issued for the wrong car."},
        ("no reason", "reason_missing", {"why": ""}, {"at_the_field": True}),
        ("the desk", "not_allowed", {}, {"who": "dora"}),
        pin=make.PIN,
    ),
]  # fmt: skip

WAIVING = many(
    "set_out", "waive", "petra", {"job": job, "code": "lots_mixed", "why": "the customer chose it"},
    ("what nobody may waive", "cannot_waive", {"code": "same_person"}),
    ("what is no waivable reason", "cannot_waive", {"code": "line_open"}),
    ("no reason", "reason_missing", {"why": " "}),
    ("the desk for the owner", "not_allowed", {}, {"who": "dora"}),
    ("no PIN", "not_allowed", {}, {"pin": ""}),
    pin=make.PIN,
)  # fmt: skip


def in_days(count: int):
    return lambda world: (world.now + timedelta(days=count)).isoformat()


def with_mail(world) -> None:
    """The workshop has an address, and the certificate its paper."""
    models.Workshop.objects.filter(pk=world.shop.pk).update(mail="desk@quay.example")
    models.Revision.objects.update(pdf_sha256="0" * 64)


def withdrawn(world) -> None:
    with_mail(world)
    models.Revision.objects.update(withdrawn_at=world.now)


CERTIFICATE = {"certificate": lambda world: world.certificate().pk, "address": "ana@mail.example"}
DAY = [
    *many(
        "arrived", "expect_car", "dora", {"expected_at": in_days(2), "name": "Noor Haddad", "car": "grey estate"},
        ("yesterday", "day_wrong", {"expected_at": in_days(-1)}),
        ("in two years", "day_wrong", {"expected_at": in_days(700)}),
        ("a phone number of three digits", "value_wrong", {"phone": "112"}),
        ("no car", "field_missing", {"car": ""}, {"at_the_field": True}),
        ("an installer", "not_allowed", {}, {"who": "ines"}),
    ),
    *many(
        "arrived", "promise_time", "dora", {"job": job, "promised_at": in_days(3)},
        ("a time that is past", "value_wrong", {"promised_at": in_days(-1)}),
        ("in two years", "value_wrong", {"promised_at": in_days(700)}),
        ("an installer", "not_allowed", {}, {"who": "ines"}),
        ("the owner of another workshop", "other_workshop", {}, {"who": "otto", "not_by": ("page",)}),
    ),
    *many(
        "issued", "send_papers", "dora", CERTIFICATE,
        ("no address", "value_wrong", {"address": "nobody"}),
        ("a paper that is not printed", "not_printed", {},
         {"before": lambda world: (with_mail(world), models.Revision.objects.update(pdf_sha256=""))}),
        ("a paper that was withdrawn", "certificate_withdrawn", {}, {"before": withdrawn}),
        ("a workshop without an address", "mail_unready", {},
         {"before": lambda world: models.Revision.objects.update(pdf_sha256="0" * 64)}),
        ("an installer", "not_allowed", {}, {"who": "ines"}),
        before=with_mail,
    ),
    *many(
        "arrived", "send_test_mail", "petra", {"address": "bay@mail.example"},
        ("a workshop without an address", "mail_unready", {}, {"before": lambda world: None}),
        ("no address", "value_wrong", {"address": "bay"}),
        ("the desk", "not_allowed", {}, {"who": "dora"}),
        before=with_mail,
    ),
]  # fmt: skip

DESK = [*CAR_ARRIVES, *STOCK, *CUTS, *PEOPLE, *INTAKE, *SET_OUT, *LEAVING, *PAPER, *WAIVING, *DAY]
