"""SQLite takes any length of text, PostgreSQL does not: what the demo wrote fits its columns, and each code."""

import pytest
from django.apps import apps
from django.db.models import CharField

from shop import models
from shop.work.kinds import Answer, Cover, Cut, EdgeKind, Finish, Material, Meaning, Stage

CODES = [
    (models.Checklist, "stage", Stage),
    (models.Fitting, "from_stage", Stage),
    (models.Defect, "found_at", Stage),
    (models.Defect, "comes_from", Stage),
    (models.Fitting, "cut", Cut),
    (models.Fitting, "cover", Cover),
    (models.Fitting, "material", Material),
    (models.FittingEdge, "kind", EdgeKind),
    (models.FittingEdge, "finish", Finish),
    (models.Outcome, "answer", Answer),
    (models.Signing, "meaning", Meaning),
    (models.SignOff, "meaning", Meaning),
]


@pytest.mark.parametrize(("model", "name", "codes"), CODES, ids=lambda part: getattr(part, "__name__", part))
def test_every_code_fits_its_column(model, name, codes):
    assert [str(code) for code in codes if len(str(code)) > model._meta.get_field(name).max_length] == []


def test_what_the_demo_wrote_fits(demo_on_disk, django_db_blocker):
    with demo_on_disk.opened(django_db_blocker):
        too_long = [
            (model.__name__, field.name, value)
            for model in apps.get_app_config("shop").get_models()
            for field in model._meta.local_fields
            if isinstance(field, CharField) and field.max_length
            for value in model.objects.values_list(field.attname, flat=True).distinct()
            if value and len(value) > field.max_length
        ]
    assert too_long == []
