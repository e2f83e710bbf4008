"""Drafts kept, published and retired: what obeys what, what is refused, and that a running car keeps its version."""

import copy
import re

import pytest

from shop.documents import actions, built_in, drafts, toml
from shop.documents.digest import digest
from shop.documents.models import Document
from shop.people.identity import Claimed, Proven, SignedIn
from shop.reasons import Refused
from shop.record.actions import body_of
from shop.record.models import Entry
from shop.warranty import actions as warranty
from shop.work.floor import Floor
from tests import make
from tests.make_finished import HANDED_OVER, finished_job

pytestmark = pytest.mark.django_db
NOW = make.NOW


@pytest.fixture
def shop():
    return make.workshop()


@pytest.fixture
def petra(shop):
    return make.person(shop, "Petra", "owner")


@pytest.fixture
def adopted(shop, petra):
    """The built-in documents by kind; of bodies the sedan."""
    rows = actions.adopt_built_ins(workshop=shop, by=SignedIn(petra), now=NOW)
    return {row.kind: row for row in rows if row.kind != "body" or row.name == "sedan"}


def draft(petra, row, *, version="2", name="", change=lambda text: text):
    text = change(drafts.copied(row, name=name or row.name, version=version))
    return actions.save_draft(workshop=petra.workshop, text=text, by=SignedIn(petra), now=NOW)


def publish(row, petra, **more):
    return actions.publish_document(document=row, by=Proven(petra, "pin"), now=NOW, **more)


def refusal(act, *args, **kwargs):
    before = list(Document.objects.order_by("pk").values()), Entry.objects.count()
    with pytest.raises(Refused) as refused:
        act(*args, **kwargs)
    assert (list(Document.objects.order_by("pk").values()), Entry.objects.count()) == before
    return {reason.code: reason.text for reason in refused.value.reasons}


# --- drafts ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["plan", "terms", "film", "body", "roles"])
def test_a_copy_says_the_same_under_its_own_version(adopted, petra, kind):
    row = draft(petra, adopted[kind])
    assert (row.kind, row.name, row.version, row.is_draft, row.digest) == (
        kind,
        adopted[kind].name,
        "2",
        True,
        "",
    )
    assert toml.parsed(row.text).body == {**adopted[kind].body, "version": "2"}
    assert drafts.all_faults(row.text) == []


def test_remarks_of_the_built_in_text_come_along(adopted, petra):
    row = draft(petra, adopted["plan"])
    assert "# A key is never used again with another meaning." in row.text
    publish(row, petra)
    again = draft(petra, Document.objects.get(pk=row.pk), version="3")
    assert "# A key is never used again with another meaning." in again.text


def test_a_draft_may_be_faulty_and_is_obeyed_by_nobody(adopted, petra):
    row = draft(petra, adopted["plan"], change=lambda text: text.replace('scope = "edge"', 'scope = "egde"'))
    assert Document.objects.in_force(petra.workshop, "plan") == adopted["plan"]
    faults = drafts.all_faults(row.text)
    assert faults and all("“egde” is not one of" in fault.text for fault in faults)
    assert all('scope = "egde"' in row.text.splitlines()[fault.line - 1] for fault in faults)


def test_the_next_version_is_one_nobody_had(adopted, petra):
    assert drafts.next_version(adopted["plan"]) == "2"
    draft(petra, adopted["plan"], version="7")
    draft(petra, adopted["plan"], version="autumn")
    assert drafts.next_version(adopted["plan"]) == "8"


@pytest.mark.parametrize(
    ("text", "code", "said"),
    [
        ("kind = \n", "document_faulty", "Line 1 cannot be read"),
        ("kind = ", "document_faulty", "The end of the text cannot be read"),
        ('kind = "menu"\nname = "a"\nversion = "1"', "document_faulty", "kind = one of"),
        ('kind = "plan"\nname = "Our Plan"\nversion = "1"', "document_faulty", "small letters"),
        ('kind = "plan"\nname = "plan"\nversion = 3', "document_faulty", "a version, a text"),
        (
            'kind = "plan"\nname = "plan"\nversion = "' + "9" * 31 + '"',
            "document_faulty",
            "a version, a text",
        ),
        (
            'kind = "plan"\nname = "builtin"\nversion = "1"',
            "document_version_taken",
            "already has a version 1",
        ),
    ],
)
def test_a_text_that_cannot_be_kept_is_refused(adopted, petra, text, code, said):
    found = refusal(actions.save_draft, workshop=petra.workshop, text=text, by=SignedIn(petra), now=NOW)
    assert said in found[code]


def test_a_draft_stays_of_its_kind_and_a_published_text_stays_as_it_is(adopted, petra):
    row = draft(petra, adopted["plan"])
    by, shop = SignedIn(petra), petra.workshop
    text = drafts.copied(adopted["terms"], name="builtin", version="2")
    found = refusal(actions.save_draft, workshop=shop, text=text, document=row, by=by, now=NOW)
    assert "is a plan, and its text says terms" in found["document_frozen"]
    publish(row, petra)
    found = refusal(actions.save_draft, workshop=shop, text=row.text, document=row, by=by, now=NOW)
    assert "a published text never changes" in found["document_frozen"]


# --- publishing --------------------------------------------------------------------------------------------


def test_publishing_freezes_the_text_and_takes_the_place_of_the_last(adopted, petra):
    row = publish(
        draft(
            petra,
            adopted["plan"],
            change=lambda text: text.replace("Watch the water film for 60 s", "Watch the water 60 s"),
        ),
        petra,
    )
    row.refresh_from_db()
    assert row.digest == digest(row.body) and row.published_at == NOW
    assert toml.parsed(row.text).body == row.body
    adopted["plan"].refresh_from_db()
    assert adopted["plan"].retired_at == NOW
    assert Document.objects.in_force(petra.workshop, "plan") == row
    entry = Entry.objects.get(verb="publish_document")
    assert body_of(entry)["document"]["digest"] == row.digest and entry.proven == "pin"


def test_a_plan_of_another_name_takes_the_place_but_a_film_sheet_stands_beside(adopted, petra):
    publish(draft(petra, adopted["plan"], name="ours", version="1"), petra)
    publish(draft(petra, adopted["film"], name="harbour-teal", version="1"), petra)
    live = Document.objects.filter(published_at__isnull=False, retired_at__isnull=True)
    assert set(live.filter(kind__in=("plan", "film")).values_list("kind", "name")) == {
        ("plan", "ours"),
        ("film", "defaults"),
        ("film", "harbour-teal"),
    }


def test_a_faulty_draft_is_not_published(adopted, petra):
    row = draft(petra, adopted["terms"], change=lambda text: text.replace("months = 12\n", "months = 0\n"))
    assert "cover.workmanship.months: 0 is less than 1." in refusal(publish, row, petra)["document_faulty"]


def test_a_body_that_cannot_be_drawn_is_not_published(adopted, petra):
    """Its words are right, its outline is not: only the sheet can tell."""

    def change(text):
        return re.sub(r'path = "[^"]*"', 'path = "M 0,0"', text, count=1)

    row = draft(petra, adopted["body"], change=change)
    assert refusal(publish, row, petra)["document_faulty"].startswith("panels: ")


def test_roles_that_shut_the_owner_out_are_not_published(adopted, petra):
    body = copy.deepcopy(built_in.roles()) | {"version": "2"}
    body["verbs"]["publish_document"]["roles"] = ["desk"]
    del body["reasons"]["stale"]
    row = actions.save_draft(workshop=petra.workshop, text=toml.written(body), by=SignedIn(petra), now=NOW)
    told = [fault.text for fault in drafts.all_faults(row.text)]
    assert told == [
        "reasons.stale: is missing; the program asks for it.",
        "verbs.publish_document.roles: the owner has to be among them, or nobody could put this right again.",
    ]
    assert "document_faulty" in refusal(publish, row, petra)


def test_what_was_read_is_what_is_published(adopted, petra):
    row = draft(petra, adopted["plan"])
    seen = actions.text_digest(row.text)
    other = row.text.replace("Built-in plan", "Other plan")
    actions.save_draft(workshop=petra.workshop, text=other, document=row, by=SignedIn(petra), now=NOW)
    assert "screen_changed" in refusal(publish, row, petra, seen=seen)
    assert publish(row, petra, seen=actions.text_digest(other)).body["title"]["en"] == "Other plan"


def test_it_is_published_once(adopted, petra):
    row = publish(draft(petra, adopted["plan"]), petra)
    assert "document_frozen" in refusal(publish, row, petra)


# --- who may -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("act", ["publish_document", "retire_document"])
def test_a_session_is_not_enough_to_publish_or_retire(adopted, petra, act):
    row = draft(petra, adopted["plan"])
    assert "not_allowed" in refusal(getattr(actions, act), document=row, by=SignedIn(petra), now=NOW)


@pytest.mark.parametrize("act", ["save_draft", "publish_document", "retire_document"])
def test_only_the_owner_of_this_shop_does(adopted, petra, act):
    row = draft(petra, adopted["plan"])
    args = {"workshop": petra.workshop, "text": row.text} if act == "save_draft" else {}
    dora = make.person(petra.workshop, "Dora", "desk", "installer", "inspector")
    otto = make.person(make.workshop(name="Elsewhere"), "Otto", "owner")
    for person, code in ((dora, "not_allowed"), (otto, "other_workshop")):
        found = refusal(getattr(actions, act), document=row, by=Proven(person, "pin"), now=NOW, **args)
        assert set(found) == {code}


def test_a_name_picked_on_a_tablet_drafts_nothing(adopted, petra):
    row = draft(petra, adopted["plan"])
    found = refusal(
        actions.save_draft, workshop=petra.workshop, text=row.text, document=row, by=Claimed(petra), now=NOW
    )
    assert "not_allowed" in found


def test_roles_older_than_a_verb_leave_it_to_the_built_in_rule(shop, petra):
    body = copy.deepcopy(built_in.roles())
    for verb in ("save_draft", "publish_document", "retire_document"):
        del body["verbs"][verb]
    rest = {"body": body, "digest": digest(body), "published_at": NOW}
    Document.objects.create(workshop=shop, kind="roles", name="ours", version="1", **rest)
    text = toml.written({"kind": "plan", "name": "ours", "version": "1"})
    assert actions.save_draft(workshop=shop, text=text, by=SignedIn(petra), now=NOW).is_draft
    dora = SignedIn(make.person(shop, "Dora", "desk"))
    assert "not_allowed" in refusal(actions.save_draft, workshop=shop, text=text, by=dora, now=NOW)


# --- retiring ----------------------------------------------------------------------------------------------


def retire(row, petra):
    return actions.retire_document(document=row, by=Proven(petra, "pin"), now=NOW)


def test_a_draft_is_thrown_away(adopted, petra):
    row = draft(petra, adopted["plan"])
    retire(row, petra)
    assert not Document.objects.filter(kind="plan", version="2").exists()
    assert body_of(Entry.objects.get(verb="retire_document"))["draft"] is True
    assert draft(petra, adopted["plan"]).version == "2"


def test_a_sheet_is_retired_while_another_stands(adopted, petra):
    assert "document_needed" in refusal(retire, adopted["film"], petra)
    other = publish(draft(petra, adopted["film"], name="harbour-teal", version="1"), petra)
    retire(other, petra)
    other.refresh_from_db()
    assert other.retired_at == NOW and other.body
    assert list(Document.objects.published(petra.workshop, "film")) == [adopted["film"]]
    assert "document_frozen" in refusal(retire, other, petra)


@pytest.mark.parametrize("kind", ["plan", "terms", "roles"])
def test_the_last_of_what_everybody_obeys_stays(adopted, petra, kind):
    assert "document_needed" in refusal(retire, adopted[kind], petra)


# --- what began before -------------------------------------------------------------------------------------


def test_a_running_car_keeps_its_plan_and_the_next_takes_the_new(adopted, petra):
    shop = petra.workshop
    running = make.job(shop, plan=adopted["plan"], body=adopted["body"])
    before = Floor(running).plan

    def change(text):
        return text.replace("Wipe edge, return, flush line", "Wipe every edge")

    new = publish(draft(petra, adopted["plan"], change=change), petra)
    again = Floor(type(running).objects.get(pk=running.pk)).plan
    assert again == before
    assert not any(line["text"]["en"] == "Wipe every edge" for line in again["lines"])
    from shop.intake.actions import take_in

    dora = SignedIn(make.person(shop, "Dora", "desk"))
    job = take_in(
        workshop=shop, name="Ana Berg", vin="ZZZPP41L2TR041738", model="sedan", colour="red", by=dora, now=NOW
    )
    assert job.plan == new and any(
        line["text"]["en"] == "Wipe every edge" for line in Floor(job).plan["lines"]
    )


def test_a_paper_keeps_its_terms_through_a_correction(shop, petra):
    done = finished_job(shop, panels=(("hood", 1),), with_photos=False)
    revision = warranty.issue(job=done.job, by=Proven(done.dora, "pin"), now=HANDED_OVER)
    old = revision.terms
    new = publish(
        draft(petra, old, change=lambda text: text.replace("months = 60\n", "months = 12\n", 1)), petra
    )
    assert warranty.terms_in_force(shop) == new
    again = warranty.correct(
        certificate=revision.certificate, reason="a name", by=Proven(done.dora, "pin"), now=HANDED_OVER
    )
    assert again.terms == old
    assert {line.months for line in again.cover.filter(kind="material")} == {60}
