"""The care sheet as page, paper and calendar: the same dates in all three."""

from datetime import date, timedelta

import pytest
from icalendar import Calendar

from shop import clock, models, press
from shop.warranty import actions, care_sheet
from shop.warranty.care_calendar import CareDate, care_calendar
from tests.make_covered import FIRST_DAY, TOUCH_UP_LAST, noon, with_passwords

pytestmark = pytest.mark.django_db

DATES = {
    "First recheck": date(2026, 3, 10),
    "First wash": date(2026, 3, 17),
    "Pressure washer": date(2026, 3, 17),
    "Last day of the free touch-up": TOUCH_UP_LAST,
    "Recheck after a year": date(2027, 3, 3),
}


@pytest.fixture
def covered():
    return with_passwords(panels=(("hood", 1),))


def entries(data: bytes) -> dict[str, dict]:
    return {str(event["summary"]): event for event in Calendar.from_ical(data).walk("VEVENT")}


def test_one_event_a_date_and_no_rule_that_repeats(covered):
    data = care_sheet.calendar_of(covered.revision)
    found = entries(data)
    assert DATES.items() <= {title: event["dtstart"].dt for title, event in found.items()}.items()
    assert all(
        event["dtend"].dt - event["dtstart"].dt == timedelta(days=1)
        and event["dtstart"].params["VALUE"] == "DATE"
        for event in found.values()
    )
    assert b"RRULE" not in data and b"RDATE" not in data


def test_what_lasts_until_a_day_is_an_entry_of_that_day(covered):
    settling = next(
        e
        for title, e in entries(care_sheet.calendar_of(covered.revision)).items()
        if "water pockets" in title
    )
    assert settling["dtstart"].dt == FIRST_DAY + timedelta(days=30)
    assert str(settling["summary"]).startswith("Last day: small water pockets")


def test_the_file_says_the_workshops_zone_and_stays_the_same_byte_for_byte(covered):
    data = care_sheet.calendar_of(covered.revision)
    assert b"X-WR-TIMEZONE:Europe/Madrid" in data
    with clock.held_at(noon(date(2026, 5, 1))):
        assert care_sheet.calendar_of(models.Revision.objects.get()) == data


def test_ids_stay_and_days_move_when_a_day_is_agreed_on(covered):
    before = entries(care_sheet.calendar_of(covered.revision))
    actions.plan_recheck(
        certificate=covered.certificate,
        key="first_recheck",
        on=date(2026, 3, 12),
        by=covered.desk,
        now=noon(FIRST_DAY),
    )
    after = entries(care_sheet.calendar_of(models.Revision.objects.get()))
    assert {t: str(e["uid"]) for t, e in after.items()} == {t: str(e["uid"]) for t, e in before.items()}
    assert after["First recheck"]["dtstart"].dt == date(2026, 3, 12)
    assert len({str(event["uid"]) for event in after.values()}) == len(after)


def test_no_value_about_a_person_stands_in_it(covered):
    data = care_sheet.calendar_of(covered.revision).replace(b"\r\n ", b"")
    for word in ("Ana", "QS 12 ABC", covered.car.vin, covered.certificate.token):
        assert word.encode() not in data


def test_signs_that_mean_something_are_written_so_that_they_are_read_back():
    # RFC 5545 §3.3.11: backslash, semicolon, comma and line break are escaped; §3.1: lines fold at 75 octets.
    text = "Wash, by hand; no \\ brushes.\nÄußerst sanft. " + "x" * 120
    dates = [CareDate("k", date(2028, 2, 29), "Wash, gently; once", text)]
    data = care_calendar(
        dates, name="Care", zone="UTC", made=noon(FIRST_DAY), paper="T", address="4 Quay Street"
    )
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))
    (event,) = Calendar.from_ical(data).walk("VEVENT")
    assert (str(event["summary"]), str(event["description"])) == ("Wash, gently; once", text)
    assert event["dtend"].dt == date(2028, 3, 1)


def test_the_page_shows_the_dates_and_leads_to_the_files(covered, client, monkeypatch):
    monkeypatch.setattr(press, "run", lambda work, put, **rest: b"%PDF-1.7 " + put.mark.encode())
    client.force_login(covered.ines.user)
    page = client.get(f"/cars/{covered.job.pk}/care/").text
    assert "10 March 2026 to 17 March 2026" in page and "until 2 April 2026" in page
    assert "No polish" in page and "Send to the customer" not in page
    paper = client.get(f"/cars/{covered.job.pk}/care.pdf")
    assert (paper.headers["Content-Type"], paper.content) == ("application/pdf", b"%PDF-1.7 care.26-0001.1")
    file = client.get(f"/cars/{covered.job.pk}/care.ics")
    assert file.headers["Content-Disposition"] == 'attachment; filename="care-26-0001.ics"'
    assert "First wash" in entries(file.content)


def test_a_press_that_stopped_is_said(covered, client, monkeypatch):
    def dies(*args, **rest):
        raise press.PressFailed("The program that works on this stopped halfway.")

    monkeypatch.setattr(press, "run", dies)
    client.force_login(covered.dora.user)
    answer = client.get(f"/cars/{covered.job.pk}/care.pdf")
    assert answer.status_code == 409 and "was not printed" in answer.text


def test_it_is_printed_for_good(covered):
    assert care_sheet.pdf_of(covered.revision).startswith(b"%PDF-1.7")
