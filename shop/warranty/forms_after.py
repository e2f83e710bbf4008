"""What is typed after the paper: rechecks with their findings, film that comes off, a new owner."""

from collections.abc import Sequence
from dataclasses import replace

from django import forms

from shop.film.forms import day_field
from shop.intake.forms import PLAIN
from shop.people.desk import SENTENCES, DeskForm
from shop.photos.many import PhotosField, digests
from shop.warranty.vocabulary import SOUND, SOUND_WORDS, Word

PARTS = ("place", "kind", "touched_up", "note", "photos", "after")
CHOOSE = ("", "Choose one")
# Where a verb names what this page asks for under another name.
FIELDS = {"#panel": "#place_1", "#edge": "#place_1", "#kind": "#kind_1", "#photo": "#photos_1"}


class FindingsForm(DeskForm):
    """Room for several findings; one whose place is left open counts as none."""

    most = 4
    touch_up = True

    def __init__(self, *args, places: list, kinds: Sequence[Word], sound: bool, **kwargs):
        super().__init__(*args, **kwargs)
        said = [(word.key, word.title) for word in kinds]
        said = [*said, (SOUND, SOUND_WORDS)] if sound else said
        for n in range(1, self.most + 1):
            self._add(n, [CHOOSE, *places], [CHOOSE, *said])

    def _add(self, n: int, places: list, kinds: list) -> None:
        self.fields[f"place_{n}"] = forms.ChoiceField(
            label="Where", required=False, choices=places, error_messages=SENTENCES
        )
        self.fields[f"kind_{n}"] = forms.ChoiceField(
            label="What was found", required=False, choices=kinds, error_messages=SENTENCES
        )
        self.fields[f"photos_{n}"] = PhotosField(label="Photos", required=False)
        if self.touch_up:
            self.fields[f"touched_up_{n}"] = forms.BooleanField(
                label="Touched up on the spot", required=False
            )
            self.fields[f"after_{n}"] = PhotosField(label="Photos after", required=False)
        self.fields[f"note_{n}"] = forms.CharField(
            label="Note",
            required=False,
            max_length=300,
            widget=forms.TextInput(PLAIN),
            error_messages=SENTENCES,
        )

    def rows(self) -> list[list[forms.BoundField]]:
        """The fields of each finding, for the page."""
        return [
            [self[f"{part}_{n}"] for part in PARTS if f"{part}_{n}" in self.fields]
            for n in range(1, self.most + 1)
        ]

    def clean(self):
        cleaned = super().clean()
        for n in range(1, self.most + 1):
            filled = [part for part in PARTS if cleaned.get(f"{part}_{n}")]
            if filled and "place" not in filled:
                self.add_error(f"place_{n}", "Choose where this was found.")
            if "place" in filled and "kind" not in filled:
                self.add_error(f"kind_{n}", "Choose what was found there.")
        return cleaned

    def findings(self, kept) -> list[dict]:
        """What the verb takes; `kept` shelves the examined photos."""
        told = self.cleaned_data
        found = []
        for n in range(1, self.most + 1):
            if not told[f"place_{n}"]:
                continue
            panel, _, edge = told[f"place_{n}"].partition("@")
            found.append(
                {
                    "panel": panel,
                    "edge": edge,
                    "kind": told[f"kind_{n}"],
                    "note": told[f"note_{n}"],
                    "touched_up": told.get(f"touched_up_{n}", False),
                    "photos": kept(told[f"photos_{n}"]),
                    "after": kept(told.get(f"after_{n}") or []),
                }
            )
        return found

    def said(self):
        photos = {
            name: digests(value or [])
            for name, value in self.cleaned_data.items()
            if name.startswith(("photos_", "after_"))
        }
        return super().said() | photos

    def refuse(self, reasons):
        super().refuse([replace(reason, where=FIELDS.get(reason.where, reason.where)) for reason in reasons])


class RecheckForm(FindingsForm):
    on = day_field("Looked over on")
    odometer_km = forms.IntegerField(
        label="Odometer, km",
        required=False,
        widget=forms.TextInput({"inputmode": "numeric"}),
        error_messages={"invalid": "The odometer is a whole number of kilometres."},
    )


class PlanForm(DeskForm):
    on = day_field("Expected on")


class FilmOffForm(FindingsForm):
    most = 3
    touch_up = False
    panel = forms.ChoiceField(label="Panel", error_messages={"required": "Choose the panel."})
    on = day_field("On", help_text="Cover of this panel ends with that day.")
    why = forms.ChoiceField(
        label="What came off",
        choices=[("removed", "The film"), ("panel_replaced", "The whole panel: it was replaced")],
        widget=forms.RadioSelect,
        error_messages={"required": "Say what came off."},
    )

    def __init__(self, *args, panels: list, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["panel"].choices = [CHOOSE, *panels]

    def refuse(self, reasons):
        DeskForm.refuse(self, reasons)


class OwnerForm(DeskForm):
    name = forms.CharField(
        label="New owner",
        widget=forms.TextInput(PLAIN),
        error_messages={"required": "Type the new owner's name."},
    )
    phone = forms.CharField(label="Phone", required=False, widget=forms.TelInput(PLAIN))
    mail = forms.CharField(label="Mail", required=False, widget=forms.EmailInput(PLAIN))
    address = forms.CharField(label="Address", required=False, widget=forms.Textarea(PLAIN | {"rows": 3}))
    sold_on = day_field("Sold on")
    told_on = day_field("Told on", help_text="Where the terms ask for notice, it is judged by this day.")
    accept_end = forms.BooleanField(
        label="I know that its cover ends with the sale",
        required=False,
        help_text="The sale goes on record all the same.",
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        # Asked only once the terms have said no.
        if "accept_end" not in self.data:
            self.asked = self.fields.pop("accept_end")

    def refuse(self, reasons):
        if any(reason.code == "cover_not_passed" for reason in reasons) and "accept_end" not in self.fields:
            self.fields["accept_end"] = self.asked
        super().refuse(reasons)
