"""The documents that come with the program are adopted once, whole, and never rewritten."""

import copy

import pytest

from shop.documents import actions, built_in, rights
from shop.documents.digest import digest
from shop.documents.models import Document
from shop.people.identity import Claimed, Proven, SignedIn
from shop.reasons import Refused
from shop.record.models import Entry
from tests import make

pytestmark = pytest.mark.django_db
NOW = make.NOW


@pytest.fixture
def shop():
    return make.workshop()


@pytest.fixture
def owner(shop):
    return SignedIn(make.person(shop, "Petra", "owner"))


def adopt(shop, owner):
    return actions.adopt_built_ins(workshop=shop, by=owner, now=NOW)


def codes(refused):
    return {reason.code for reason in refused.value.reasons}


def test_every_file_becomes_a_published_row_with_its_digest(shop, owner):
    rows = adopt(shop, owner)
    assert len(rows) == len(built_in.files())
    for row in rows:
        assert row.published_at == NOW and row.digest == digest(row.body)
    body = Entry.objects.get(verb="adopt_built_ins").body
    assert all(row.digest in body for row in rows)


def test_adopting_again_changes_nothing(shop, owner):
    adopt(shop, owner)
    assert adopt(shop, owner) == []
    assert Entry.objects.count() == 1


def test_a_new_version_retires_the_old_and_jobs_may_keep_it(shop, owner, monkeypatch):
    old = {row.kind: row for row in adopt(shop, owner)}["plan"]
    _replace(monkeypatch, "plan", version="2")
    (new,) = adopt(shop, owner)
    old.refresh_from_db()
    assert new.version == "2" and old.retired_at == NOW and old.published_at
    assert Document.objects.in_force(shop, "plan") == new


def test_same_version_with_other_words_is_refused(shop, owner, monkeypatch):
    adopt(shop, owner)
    _replace(monkeypatch, "plan", title={"en": "Something else"})
    with pytest.raises(Refused) as refused:
        adopt(shop, owner)
    assert codes(refused) == {"document_version_taken"}


def test_a_faulty_document_is_refused_and_none_is_kept(shop, owner, monkeypatch):
    _replace(monkeypatch, "film", cure={"bands": []})
    with pytest.raises(Refused) as refused:
        adopt(shop, owner)
    assert codes(refused) == {"document_faulty"}
    assert not Document.objects.exists() and not Entry.objects.exists()


def test_only_the_owner_adopts(shop):
    with pytest.raises(Refused) as refused:
        adopt(shop, SignedIn(make.person(shop, "Dora", "desk", "installer", "inspector")))
    assert codes(refused) == {"not_allowed"}


def test_roles_in_force_decide_before_the_built_in_ones(shop, owner):
    dora = SignedIn(make.person(shop, "Dora", "desk"))
    with pytest.raises(Refused):
        rights.must_be_allowed(dora, "enrol_tablet", workshop=shop)
    body = copy.deepcopy(built_in.roles())
    body["verbs"]["enrol_tablet"]["roles"] = ["desk"]
    Document.objects.create(
        workshop=shop,
        kind="roles",
        name="ours",
        version="1",
        body=body,
        digest=digest(body),
        published_at=NOW,
    )
    rights.must_be_allowed(dora, "enrol_tablet", workshop=shop)
    with pytest.raises(Refused):
        rights.must_be_allowed(owner, "enrol_tablet", workshop=shop)


@pytest.mark.parametrize(
    ("identity", "how", "allowed"),
    [
        ("claimed", "claimed", True),
        ("signed_in", "claimed", False),
        ("signed_in", "signed_in", True),
        ("signed_in", "pin", True),
        ("proven", "signed_in", False),
        ("proven", "password", True),
    ],
)
def test_how_sure_we_must_be(shop, owner, identity, how, allowed):
    roles = {"verbs": {"act": {"roles": ["owner"], "identity": identity}}, "roles": {}}
    by = {"claimed": Claimed(owner.person), "signed_in": owner}.get(how) or Proven(owner.person, how)
    if allowed:
        rights.must_be_allowed(by, "act", workshop=shop, roles=roles)
    else:
        with pytest.raises(Refused) as refused:
            rights.must_be_allowed(by, "act", workshop=shop, roles=roles)
        assert codes(refused) == {"not_allowed"}


def _replace(monkeypatch, kind, **changed):
    real = built_in.read

    def read(path):
        body = real(path)
        return body | changed if body["kind"] == kind else body

    monkeypatch.setattr(built_in, "read", read)
