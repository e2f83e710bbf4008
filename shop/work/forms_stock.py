"""What is typed when film is cut for a piece that is set out."""

from django import forms

from shop.film.forms import LengthField
from shop.film.forms_cuts import StockForm
from shop.intake.names import body_of, piece_name
from shop.people.desk import DeskForm


def piece_words(row) -> str:
    """`Hood, job 26-0001, grey four-door sedan`."""
    job = row.job
    # Whether there are more pieces is not asked for here, so the number is said from the second on.
    name = piece_name(body_of(job.body), row.panel.code, row.piece, row.piece, job.workshop.language)
    return f"{name}, job {job.number}, {job.vehicle.colour} {job.vehicle.model}"


class Pieces(forms.ModelChoiceField):
    def label_from_instance(self, row) -> str:
        return piece_words(row)


class CutForm(StockForm):
    piece = Pieces(
        label="For",
        queryset=None,
        empty_label="Pick the piece",
        error_messages={"required": "Pick the piece it is cut for."},
    )
    length = LengthField(label="Length off the roll", max_length=30)
    width = LengthField(
        label="Width", max_length=30, required=False, help_text="Empty where the whole width was taken."
    )
    field_order = ["key", "piece", "length", "width", "confirmed"]

    def __init__(self, *args, pieces, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["piece"].queryset = pieces

    def said(self) -> dict:
        told = super().said()
        return told | {"piece": told["piece"].pk}


class LayForm(DeskForm):
    piece = Pieces(
        label="For",
        queryset=None,
        empty_label="Pick the piece",
        error_messages={"required": "Pick the piece it is for."},
    )

    def __init__(self, *args, pieces, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["piece"].queryset = pieces

    def said(self) -> dict:
        return {"piece": self.cleaned_data["piece"].pk}
