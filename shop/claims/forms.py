"""What is typed about a claim. The verbs judge it; here it only gets its shape."""

from collections.abc import Mapping
from dataclasses import replace

from django import forms

from shop.claims.models import Claim, Decision, SupplierWait
from shop.film.forms import day_field
from shop.people.desk import DeskForm
from shop.photos.many import PhotosField, digests
from shop.warranty.forms import ProvenForm
from shop.warranty.vocabulary import Vocabulary, Word

CHOOSE = ("", "Choose one")
SHARE = {"inputmode": "numeric", "autocomplete": "off"}


# Where a verb names what this page asks for under another name.
FIELDS = {"#panel": "#place", "#edge": "#place", "#photo": "#photos", "#said": "#caller"}


class WithPhotos(DeskForm):
    """A form that takes photos: a second sending is known by their digests."""

    def said(self):
        photos = self.cleaned_data.get("photos") or []
        return super().said() | {"photos": digests(photos)}

    def refuse(self, reasons):
        super().refuse([replace(reason, where=FIELDS.get(reason.where, reason.where)) for reason in reasons])


class ReportForm(WithPhotos):
    place = forms.ChoiceField(
        label="Where",
        help_text="The edge or corner, where the caller can name it.",
        error_messages={"required": "Choose where on the car it is."},
    )
    symptom = forms.ChoiceField(
        label="What it looks like", error_messages={"required": "Choose what it looks like."}
    )
    noticed_on = day_field("Noticed on", help_text="The day it was first seen: cover is judged by it.")
    told_on = day_field("Told on", help_text="The day we were told: deadlines are judged by it.")
    told_how = forms.ChoiceField(label="How", choices=Claim.Way.choices)
    caller = forms.CharField(
        label="In the caller’s words",
        required=False,
        max_length=2000,
        widget=forms.Textarea({"rows": 3}),
        help_text="Washed when, dried how, nights how cold. Kept apart as a customer’s value.",
    )
    photos = PhotosField(label="Photos", required=False, help_text="With a ruler beside it, up to eight.")

    def __init__(self, *args, places: list, words: Vocabulary, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["place"].choices = [CHOOSE, *places]
        self.fields["symptom"].choices = [CHOOSE, *_titles(words.symptoms)]


class PhotosForm(WithPhotos):
    shot = forms.ChoiceField(label="What they show", required=False)
    taken_here = forms.BooleanField(label="Taken here, by us", required=False)
    photos = PhotosField(
        label="Photos",
        help_text="Up to eight at once.",
        error_messages={"required": "Choose at least one photo."},
    )

    def __init__(self, *args, words: Vocabulary, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["shot"].choices = [("", "Nothing named"), *_titles(words.shots)]


class GlueForm(WithPhotos):
    reading = forms.ChoiceField(
        label="What the glue side looks like",
        widget=forms.RadioSelect,
        error_messages={"required": "Say what the glue side looks like."},
    )
    photos = PhotosField(label="Photos of the glue side", required=False)
    note = forms.CharField(label="Note", required=False, max_length=300, widget=forms.Textarea({"rows": 2}))

    def __init__(self, *args, words: Vocabulary, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["reading"].choices = [
            (key, f"{word.title}. {word.text}") for key, word in words.glue_side.items()
        ]


class AskForm(DeskForm):
    asked = forms.CharField(
        label="What the supplier was asked",
        required=False,
        max_length=300,
        widget=forms.Textarea({"rows": 2}),
    )


class AnswerForm(DeskForm):
    answer = forms.ChoiceField(
        label="What came back",
        choices=SupplierWait.Answer.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Say what came back."},
    )
    note = forms.CharField(label="Note", required=False, max_length=300, widget=forms.Textarea({"rows": 2}))


class ShareField(forms.IntegerField):
    """Per cent of the cost; left empty it is none."""

    def __init__(self, label: str) -> None:
        super().__init__(
            label=label,
            required=False,
            widget=forms.TextInput(SHARE),
            error_messages={"invalid": "A share is a whole number of per cent."},
        )

    def clean(self, value):
        return super().clean(value) or 0


class DecideForm(ProvenForm):
    field_order = ("outcome", "clause", "reason")
    outcome = forms.ChoiceField(
        label="What is decided",
        choices=Decision.Outcome.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Say what is decided."},
    )
    clause = forms.ChoiceField(
        label="In the words of the terms",
        help_text="Of the version under which the paper was issued.",
        error_messages={"required": "Choose the words of the terms that this rests on."},
    )
    reason = forms.CharField(
        label="Why",
        max_length=2000,
        help_text="The customer reads it in the letter.",
        widget=forms.Textarea({"rows": 5}),
        error_messages={"required": "Say why: the customer reads it in the letter."},
    )
    shop_pct = ShareField("Workshop, %")
    supplier_pct = ShareField("Supplier, %")
    customer_pct = ShareField("Customer, %")
    insurer_pct = ShareField("Insurer, %")

    def __init__(self, *args, clauses: list, **kwargs):
        super().__init__(*args, **kwargs)
        groups: dict[str, list[tuple[str, str]]] = {}
        for clause in clauses:
            groups.setdefault(clause.group, []).append((clause.key, clause.words))
        self.fields["clause"].choices = [CHOOSE, *groups.items()]

    def shares(self):
        return [self[name] for name in ("shop_pct", "supplier_pct", "customer_pct", "insurer_pct")]


class RepairForm(DeskForm):
    job = forms.ChoiceField(
        label="The job", error_messages={"required": "Choose the job in which it is put right."}
    )
    from_stage = forms.ChoiceField(
        label="What is done",
        choices=[
            ("wash", "New film on the whole piece, from the wash on"),
            ("seal", "The film stays; its edges are sealed again"),
        ],
        widget=forms.RadioSelect,
        error_messages={"required": "Say what is done."},
    )

    def __init__(self, *args, jobs, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["job"].choices = [
            (job.pk, f"{job.number}, here since {job.arrived_at:%d %B}") for job in jobs
        ]


class PrintForm(DeskForm):
    pass


def _titles(words: Mapping[str, Word]) -> list[tuple[str, str]]:
    return [(key, word.title) for key, word in words.items()]
