"""Set-out as it is typed: the same for several panels, or one panel edge by edge."""

from django import forms

from shop.film.models import Roll
from shop.intake.forms import PLAIN, PartForm
from shop.people.models import Person, Role
from shop.units import US, decimal, inches, parse_mm
from shop.work import kinds
from shop.work.pieces import MOST_PIECES, EdgeSet, PieceSet, pieces_of_edge
from shop.work.setout_stock import PASSES

UNCHANGED = ("", "As it stands")


class Rolls(forms.ModelChoiceField):
    def label_from_instance(self, roll) -> str:
        return f"{roll.lot.material.name}, lot {roll.lot.code}, roll {roll.code}"


class FilmForm(PartForm):
    """Roll, cut, cover and people, and the owner's word where one car would get two lots."""

    roll = Rolls(label="Roll", queryset=Roll.objects.none(), required=False, empty_label="Not chosen yet")
    cut = forms.ChoiceField(label="Cut", choices=kinds.choices(kinds.Cut))
    cover = forms.ChoiceField(label="Cover", choices=kinds.choices(kinds.Cover))
    people = forms.ModelMultipleChoiceField(
        label="Who fits it",
        queryset=Person.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    # What the last refusal asked to be let pass, so that nothing else is waived with it.
    passes = forms.CharField(required=False, max_length=100, widget=forms.HiddenInput)
    mixed_why = forms.CharField(label="Why it may pass", required=False, widget=forms.TextInput(PLAIN))
    mixed_by = forms.ModelChoiceField(
        label="Who lets it pass", queryset=Person.objects.none(), required=False, empty_label="Pick a name"
    )
    mixed_pin = forms.CharField(
        label="PIN",
        required=False,
        max_length=8,
        widget=forms.PasswordInput({"inputmode": "numeric", "autocomplete": "off", "class": "typed-code"}),
    )
    secret = ("mixed_pin",)

    def __init__(self, *args, workshop, **kwargs):
        super().__init__(*args, **kwargs)
        here = Person.objects.here(workshop)
        self.fields["roll"].queryset = Roll.objects.on_the_shelf(workshop)
        self.fields["people"].queryset = here.filter(roles__role=Role.INSTALLER).distinct()
        self.everybody = here
        self._offer(self._sent_passes())

    def _offer(self, codes: list[str]) -> None:
        """Who may let that pass: a short roll the desk as well, what shows on the car the owner alone."""
        who = [Role.DESK, Role.OWNER] if codes == ["roll_short"] else [Role.OWNER]
        self.fields["mixed_by"].queryset = self.everybody.filter(roles__role__in=who).distinct()

    def _sent_passes(self) -> list[str]:
        sent = str(self.data.get(self.add_prefix("passes"), "")).split()
        return [code for code in PASSES if code in sent] or ["lots_mixed"]

    def clean_passes(self) -> list[str]:
        return self._sent_passes()

    @property
    def asks_to_pass(self) -> list[str]:
        """What somebody may let pass: after a refusal for it, or while what was typed for it stands."""
        found = {reason["code"] for reason in self.reasons}
        asked = [code for code in PASSES if code in found]
        if asked:
            self._offer(asked)
            return asked
        return self._sent_passes() if self.is_bound and self["mixed_why"].value() else []

    def said(self) -> dict:
        told = super().said()
        people = [person.pk for person in told["people"]]
        return told | {"people": people, "roll": told["roll"].pk if told["roll"] else None, "mixed_by": None}


class ManyForm(FilmForm):
    """The same for the panels chosen; what is left as it stands is not touched."""

    panels = forms.MultipleChoiceField(
        label="Panels",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one panel, on the drawing or in the list."},
    )
    field_order = ["key", "panels", "roll", "cut", "cover", "people"]

    def __init__(self, *args, workshop, panels, **kwargs):
        super().__init__(*args, workshop=workshop, **kwargs)
        self.fields["panels"].choices = panels
        for name in ("cut", "cover"):
            self.fields[name].required = False
            self.fields[name].choices = [UNCHANGED, *self.fields[name].choices]
        self.fields["roll"].empty_label = UNCHANGED[1]

    def same(self) -> dict:
        told = self.cleaned_data
        same = {name: told[name] for name in ("roll", "cut", "cover") if told[name]}
        return same | ({"people": list(told["people"])} if told["people"] else {})


class PanelForm(FilmForm):
    """One panel: its pieces, and for each edge and corner how it ends and on which pieces it lies."""

    pieces = forms.TypedChoiceField(
        label="Pieces of film", choices=[(n, n) for n in range(1, MOST_PIECES + 1)], coerce=int, initial=1
    )
    material = forms.ChoiceField(label="Panel is made of", choices=kinds.choices(kinds.Material))
    features = forms.MultipleChoiceField(
        label="The panel has",
        choices=kinds.choices(kinds.Feature),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    turned = forms.BooleanField(
        label="The film lies turned", required=False, help_text="Across its run. Directional film shows it."
    )
    mirror = forms.BooleanField(label="The same on the other side", required=False)

    def __init__(self, *args, workshop, edges: dict[str, str], split: int, **kwargs):
        """`edges`: codes and words in drawing order; `split`: the pieces it stands in already."""
        super().__init__(*args, workshop=workshop, **kwargs)
        self.edge_words, self.split, self.system = edges, split > 1, workshop.unit_system
        self.seams = range(1, max(split, 1))
        for number in self.seams:
            self.fields[f"primer-seam-{number}"] = forms.BooleanField(
                label=f"Seam {number}: primer", required=False
            )
        finishes = [pair for pair in kinds.choices(kinds.Finish) if pair[0] != kinds.Finish.SEAM]
        for code, words in edges.items():
            self.fields[f"finish-{code}"] = forms.ChoiceField(
                label=f"{words}: how it ends",
                choices=finishes,
                widget=forms.Select({"aria-label": f"{words}: how it ends"}),
            )
            self.fields[f"return-{code}"] = forms.CharField(
                label=f"{words}: return",
                required=False,
                max_length=20,
                widget=forms.TextInput(PLAIN | {"inputmode": "decimal"}),
            )
            self.fields[f"primer-{code}"] = forms.BooleanField(label=f"{words}: primer", required=False)
            self.fields[f"on-{code}"] = forms.TypedMultipleChoiceField(
                label=f"{words}: on piece",
                required=False,
                coerce=int,
                choices=[(n, n) for n in range(1, MOST_PIECES + 1)],
                widget=forms.CheckboxSelectMultiple,
            )

    def clean(self) -> dict:
        told = super().clean()
        for code in self.edge_words:
            text = told.get(f"return-{code}", "")
            try:
                told[f"return-{code}"] = parse_mm(text, self.system) if text else None
            except ValueError as wrong:
                self.add_error(f"return-{code}", str(wrong))
        return told

    def edge_rows(self) -> list[dict]:
        """For the page: each edge with its bound fields."""
        return [
            {
                "code": code,
                "words": words,
                "corner": self.initial.get(f"kind-{code}") == kinds.EdgeKind.CORNER,
                "finish": self[f"finish-{code}"],
                "return_mm": self[f"return-{code}"],
                "primer": self[f"primer-{code}"],
                "on": self[f"on-{code}"],
                "errors": [*self.errors.get(f"finish-{code}", ()), *self.errors.get(f"return-{code}", ())],
            }
            for code, words in self.edge_words.items()
        ]

    def seam_rows(self) -> list[dict]:
        return [
            {
                "code": f"seam-{n}",
                "words": f"Seam {n}, piece {n} to {n + 1}",
                "primer": self[f"primer-seam-{n}"],
            }
            for n in self.seams
        ]

    def asked(self) -> list[dict]:
        """The pieces as the verb takes them."""
        told, count = self.cleaned_data, self.cleaned_data["pieces"]
        shared = {name: told[name] for name in ("roll", "cut", "cover", "material", "features", "turned")}
        shared["people"] = list(told["people"])
        return [{"piece": n, **shared, "edges": self._edges(n, count)} for n in range(1, count + 1)]

    def _edges(self, piece: int, count: int) -> list[dict]:
        edges = [
            self._edge(code) for code in self.edge_words if count == 1 or piece in self._places(code, count)
        ]
        return edges + [self._seam(n) for n in (piece - 1, piece) if 1 <= n < count]

    def _seam(self, number: int) -> dict:
        # A seam that has just been made has no row yet: it starts without primer.
        name = f"primer-seam-{number}"
        return {"code": f"seam-{number}", "finish": "seam"} | (
            {"primer": self.cleaned_data[name]} if name in self.fields else {}
        )

    def _edge(self, code: str) -> dict:
        told = self.cleaned_data
        edge = {"code": code, "finish": told[f"finish-{code}"], "primer": told[f"primer-{code}"]}
        depth = told[f"return-{code}"]
        # Left empty where there was none: the film sheet's own depth. Emptied where there was one: asked again.
        if depth is not None or self.initial.get(f"return-{code}"):
            edge["return_mm"] = depth
        return edge

    def _places(self, code: str, count: int) -> list[int]:
        """The pieces an edge lies on: as ticked, or by side when the panel has just been divided."""
        if self.split:
            return self.cleaned_data[f"on-{code}"] or list(range(1, count + 1))
        return pieces_of_edge(code, count)


def start(pieces: list[PieceSet], system: str) -> dict:
    """The form as a set-out stands: what pieces share from the first, each edge from the piece it ends on."""
    first = pieces[0]
    values = {
        "pieces": len(pieces),
        "cut": first.cut,
        "cover": first.cover,
        "material": first.material,
        "features": list(first.features),
        "people": list(first.people),
        "turned": first.turned,
    } | {
        f"primer-{code}": edge.primer
        for piece in pieces
        for code, edge in piece.edges.items()
        if edge.kind == kinds.EdgeKind.SEAM and edge.finish == kinds.Finish.SEAM
    }
    for code, edge in first.edges.items():
        ends = [piece.edges[code] for piece in pieces if code in piece.edges]
        shown = next((end for end in ends if end.finish != kinds.Finish.OPEN), edge)
        values |= {
            f"kind-{code}": shown.kind,
            f"finish-{code}": shown.finish,
            f"return-{code}": typed_mm(shown, system),
            f"primer-{code}": shown.primer,
            f"on-{code}": [
                piece.piece
                for piece in pieces
                if code in piece.edges and piece.edges[code].finish != kinds.Finish.OPEN
            ],
        }
    return values


def typed_mm(edge: EdgeSet, system: str) -> str:
    """A return as it stands in its field: millimetres, or inches where the shop uses them.

    >>> typed_mm(EdgeSet("front", "edge", "wrapped", 8, False), "metric")
    '8'
    """
    if edge.return_mm is None:
        return ""
    return decimal(inches(edge.return_mm), 2) if system == US else str(edge.return_mm)
