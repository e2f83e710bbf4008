"""Sentences for what stands in the book of a workshop."""

from collections.abc import Mapping

from shop.record.telling import Body, Change, Names, Sentence, Told, changes, moment

FIELDS = {
    "name": "name",
    "address": "address",
    "phone": "phone",
    "mail": "mail",
    "zone": "time zone",
    "country": "country",
    "language": "language",
    "unit_system": "units",
    "public_url": "public address",
    "self_release": "self-release",
    "pin_length": "digits of a PIN",
}
VALUES = ("name", "phone", "mail", "address")
CAR = {
    "number": "number of the car",
    "plate": "plate",
    "model": "model",
    "colour": "colour",
    "colour_code": "paint code",
    "confirmed": "why its number is right all the same",
    "chassis_reason": "why it has no VIN",
}


def set_up(body: Body, names: Names) -> Told:
    return Told(f"{body['name']} was set up by {names.value(body['owner']['name'])}")


def change_settings(body: Body, names: Names) -> Told:
    rows = ((FIELDS.get(name, name), names.past.get(name), value) for name, value in body.items())
    return Told("The settings were changed", changes=changes(names, *rows))


def add_person(body: Body, names: Names) -> Told:
    roles = changes(names, ("roles", None, body["roles"]))
    return Told(f"{names.value(body['person']['name'])} came to work here", changes=roles)


def change_person(body: Body, names: Names) -> Told:
    rows = [("roles", names.past.get("roles"), body["roles"])]
    if "name" in body:
        rows.append(("name", names.past.get("name"), body["name"]))
    return Told(f"{names.person(body['person'])}: name or roles changed", changes=changes(names, *rows))


def change_customer(body: Body, names: Names) -> Told:
    now, before = body["customer"], names.past
    rows = ((name, before.get(name), now.get(name)) for name in body.get("changed", VALUES))
    who = names.value(now.get("name")) or "A customer"
    return Told(f"{who}: what is known of this customer was corrected", changes=changes(names, *rows))


def change_vehicle(body: Body, names: Names) -> Told:
    now, before = body["vehicle"], names.past
    rows = ((said, before.get(name), now.get(name)) for name, said in CAR.items() if before)
    what = f"{now['model']}, {now['colour']}: what is known of this car was corrected"
    return Told(what, changes=changes(names, *rows))


def receive_roll(body: Body, names: Names) -> Told:
    size = f"{body['width_mm']} mm wide, {body['length_mm'] / 1000:g} m long"
    what = f"Roll {body['code']} of lot {body['lot']['code']} came in: {body['film']['name']}, {size}"
    return Told(what, changes=changes(names, ("good until", None, body.get("expires_on"))))


def receive_lot(body: Body, names: Names) -> Told:
    what = f"Lot {body['lot']['code']} of {body['kind']} came in: {body['name']}"
    return Told(what, changes=changes(names, ("good until", None, body.get("expires_on"))))


def transfer_cover(body: Body, names: Names) -> Told:
    rows = (("owner", None, body["owner"].get("name")), ("told on", None, body["told_on"]))
    end = ". Its cover ended with that" if body.get("ends_cover") else ""
    return Told(f"The car was sold on {body['sold_on']}{end}", changes=changes(names, *rows))


def adopt_built_ins(body: Body, names: Names) -> Told:
    rows = ((f"{row['kind']}, {row['name']}", None, f"version {row['version']}") for row in body["documents"])
    return Told("The documents that come with the program were published", changes=changes(names, *rows))


def save_draft(body: Body, names: Names) -> Told:
    return Told(f"A draft was kept: {body['kind']}, {body['name']}, version {body['version']}")


def publish_document(body: Body, names: Names) -> Told:
    row = body["document"]
    return Told(f"{row['kind'].capitalize()} {row['name']}, version {row['version']} was published")


def retire_document(body: Body, names: Names) -> Told:
    row = body["document"]
    what = f"{row['name']}, version {row['version']}"
    if body["draft"]:
        return Told(f"A draft was thrown away: {row['kind']}, {what}")
    return Told(f"{row['kind'].capitalize()} {what} was retired")


def erase_customer(body: Body, names: Names) -> Told:
    counts = (
        f"{len(body['values'])} values, {len(body['photos'])} photos, {len(body['papers'])} printed papers"
    )
    why = {"request": "the customer asked for it", "retention": "the time to keep them was over"}
    what = f"What was known of customer {body['customer']} was erased: {counts}"
    return Told(what, str(why.get(body["why"], body["why"])))


def give_data(body: Body, names: Names) -> Told:
    counts = f"{body['photos']} photos, {body['papers']} printed papers"
    return Told(f"A copy of all that is kept of customer {body['customer']} was given out: {counts}")


def set_retention(body: Body, names: Names) -> Told:
    years = [
        f"{count} years after cover ends" if count else "for good" for count in (body["from"], body["to"])
    ]
    return Told("How long customers' data stay", changes=(Change("kept", *years),))


def expect_car(body: Body, names: Names) -> Told:
    who = (body.get("customer") or {}).get("name")
    rows = (
        ("customer", None, who),
        ("expected", None, moment(body["expected_at"])),
        ("what for", None, body.get("what")),
    )
    return Told(f"A car is expected: {body['car']}", changes=changes(names, *rows))


def move_expected(body: Body, names: Names) -> Told:
    rows = (("expected", None, moment(body["expected_at"])),)
    return Told(
        f"A car that is expected (number {body['expected']}) comes at another time",
        changes=changes(names, *rows),
    )


def send_papers(body: Body, names: Names) -> Told:
    what = f"The papers of certificate {body['certificate']} were written to a mail"
    return Told(what, changes=changes(names, ("to", None, body.get("to"))))


def send_again(body: Body, names: Names) -> Told:
    about = f" about certificate {body['certificate']}" if body.get("certificate") else ""
    return Told(f"A mail{about} was sent again", changes=changes(names, ("to", None, body.get("to"))))


def send_test_mail(body: Body, names: Names) -> Told:
    return Told("A test mail was written", changes=changes(names, ("to", None, body.get("to"))))


def _about(what: str, name: str = "person") -> Sentence:
    return lambda body, names: Told(f"{names.person(body[name])}{what}")


def _lot(what: str) -> Sentence:
    return lambda body, names: Told(f"{what} (number {body['lot']})", body["reason"])


SHOP: Mapping[str, Sentence] = {
    "set_up": set_up,
    "change_settings": change_settings,
    "add_person": add_person,
    "change_person": change_person,
    "set_pin": _about(" got a new PIN"),
    "set_password": _about(" got a new password"),
    "leave": _about(" does not work here any more"),
    "enrol_tablet": lambda body, names: Told(f"Tablet “{body['name']}” was given a place"),
    "revoke_tablet": lambda body, names: Told(
        f"Tablet “{names.tablet(body['tablet'])}” was revoked, {body['unsent']} entries not sent"
    ),
    "entry_lost": lambda body, names: Told(
        f"Entry {body['number']} of tablet “{names.tablet(body['tablet'])}” never came: ask who used it"
    ),
    "adopt_built_ins": adopt_built_ins,
    "save_draft": save_draft,
    "publish_document": publish_document,
    "retire_document": retire_document,
    "receive_roll": receive_roll,
    "receive_lot": receive_lot,
    "open_roll": lambda body, names: Told(
        f"A roll was opened on {body['opened_on']} (number {body['roll']})"
    ),
    "open_lot": lambda body, names: Told(f"A lot was opened on {body['opened_on']} (number {body['lot']})"),
    "quarantine_lot": _lot("A lot was held back"),
    "free_lot": _lot("A lot was set free again"),
    "change_customer": change_customer,
    "change_vehicle": change_vehicle,
    "transfer_cover": transfer_cover,
    "expect_car": expect_car,
    "move_expected": move_expected,
    "call_off_expected": lambda body, names: Told(
        f"A car that was expected (number {body['expected']}) does not come", body["why"]
    ),
    "send_papers": send_papers,
    "send_again": send_again,
    "send_test_mail": send_test_mail,
    "bring_in_papers": lambda body, names: Told(
        f"Older certificate {body['certificate']} brought in, without evidence",
        f"row {body['row']} of a table",
    ),
    "erase_customer": erase_customer,
    "give_data": give_data,
    "set_retention": set_retention,
}
