"""What the gate is told: plain facts about one act, gathered by the caller, frozen while it is judged."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, tzinfo
from typing import Any

from shop.reasons import Reason
from shop.work.checklist import Line


@dataclass(frozen=True)
class Who:
    """The person acting, with every role held at this moment."""

    id: int
    name: str
    roles: frozenset[str] = frozenset()


@dataclass(frozen=True)
class LotFacts:
    """A lot somebody named, looked up on the shelf. `kind` is film, primer, slip or tack; `roll` only for
    film; `known` False when no such lot (or roll) is in stock; `expires_on` is the last good day."""

    kind: str
    code: str
    roll: str = ""
    known: bool = True
    quarantined: bool = False
    expires_on: date | None = None


@dataclass(frozen=True)
class Given:
    """The live answer to one line at one place (`edge` empty where it is not asked by edge). `lots` are those
    it named. `scope` is the line's, for a line that a changed set-out no longer asks; else it may be empty."""

    line: str
    answer: str
    person: int
    person_name: str
    at: datetime
    edge: str = ""
    lots: tuple[LotFacts, ...] = ()
    scope: str = ""


@dataclass(frozen=True)
class Signature:
    """A live sign-off of one stage. `keys` are the line keys with their places (`degrease.wipe@front`) that
    were shown and frozen when it was signed."""

    meaning: str
    person: int
    person_name: str
    at: datetime
    keys: frozenset[str]


@dataclass(frozen=True)
class StageFacts:
    """The live round of one stage of one fitting.

    `lines` are computed from plan and set-out as they are now. `photos` are the keys with places that have at
    least one kept photo whose bytes are in. Where earlier stages are carried from a replaced fitting, they
    are given here like its own.
    """

    stage: str
    lines: tuple[Line, ...] = ()
    given: tuple[Given, ...] = ()
    photos: frozenset[str] = frozenset()
    signatures: tuple[Signature, ...] = ()


@dataclass(frozen=True)
class DefectFacts:
    """A defect on this fitting. `title` is its kind in words, `edge` a code or empty. `paint_cut` for a cut
    in the customer's paint; `agreed` when the customer has agreed to it in writing."""

    id: int
    title: str
    edge: str = ""
    open: bool = True
    paint_cut: bool = False
    agreed: bool = False


@dataclass(frozen=True)
class FittingFacts:
    """One live piece of film and all that is known about its eight stages.

    `place` is `hood.1`; `name` how a sentence calls it ("Hood", "Front bumper, piece 2"). `stages` holds all
    eight by code. `installers` maps the id of each named installer to the name. `film` is the lot and roll
    set out now, None when none is. `paint_concern` says what is wrong with fresh or suspect paint ("fresh
    paint, air-dried on 3 May"), empty when there is none or the customer accepted it in writing.
    `people_needed` is 2 on a large panel. `edge_names` maps edge codes to words. `ended` when the fitting was
    ended or replaced. `found` are reasons worked out elsewhere for this fitting at this moment: from readings
    (panel_cold, panel_hot, dew_margin and the notes), from timers (stale, primer_early, primer_late,
    cure_running), from the clock (clock_unsure) and photo notes. Pass only those that concern the act:
    readings for primer and flooding; stale and primer times for flooding; cure for the edge round and
    released; photo notes for signings.

    `hands` are all who ever answered a panel, piece or edge line of it before cure or signed it as ready or laid,
    also where another answer or signature stands there now.
    """

    place: str
    name: str
    stages: Mapping[str, StageFacts]
    installers: Mapping[int, str]
    film: LotFacts | None = None
    paint_concern: str = ""
    people_needed: int = 1
    defects: tuple[DefectFacts, ...] = ()
    edge_names: Mapping[str, str] = field(default_factory=dict)
    ended: bool = False
    found: tuple[Reason, ...] = ()
    hands: frozenset[int] = frozenset()


@dataclass(frozen=True)
class AnswerFacts:
    """Somebody answers one line of one fitting, on the edges named (none where it is not asked by edge).

    A press that covers several fittings is one of these for each. `lots` are the lots the answer names,
    looked up. `why` is the reason given with "not here". `fields` are the names of the values given.
    """

    fitting: FittingFacts
    line: str
    answer: str
    by: Who
    now: datetime
    zone: tzinfo
    edges: tuple[str, ...] = ()
    lots: tuple[LotFacts, ...] = ()
    why: str = ""
    fields: frozenset[str] = frozenset()
    self_release: bool = False


@dataclass(frozen=True)
class SignFacts:
    """One person signs one meaning (ready, hidden, laid, released) over several fittings.

    `unsent` is how many entries of this job the tablet still holds. `screen_seen` is the digest of what the
    person was shown, `screen_now` that of the same screen made now; both empty where no screen was involved.
    """

    meaning: str
    fittings: tuple[FittingFacts, ...]
    by: Who
    now: datetime
    zone: tzinfo
    unsent: int = 0
    screen_seen: str = ""
    screen_now: str = ""
    self_release: bool = False


@dataclass(frozen=True)
class ReleaseFacts:
    """The whole job on its way out: every live fitting; nobody is acting yet."""

    fittings: tuple[FittingFacts, ...]
    now: datetime
    zone: tzinfo
    self_release: bool = False


@dataclass(frozen=True)
class HandOverFacts:
    """The car goes back. `released_on` is the local day of the release, None while it is not released."""

    by: Who
    on: date
    today: date
    released_on: date | None
    customer_signed: bool
    handed_over_on: date | None = None
    defects: tuple[DefectFacts, ...] = ()


@dataclass(frozen=True)
class IssueFacts:
    """A certificate is issued, or corrected where `number` is one already given.

    `found` are reasons worked out elsewhere (terms_incomplete). `pieces` counts live fittings, `released`
    those released.
    """

    by: Who
    pieces: int
    released: int
    handed_over_on: date | None
    number: str = ""
    correcting: bool = False
    withdrawn: bool = False
    defects: tuple[DefectFacts, ...] = ()
    found: tuple[Reason, ...] = ()


@dataclass(frozen=True)
class PutRightFacts:
    """A defect is closed. `needs_agreement` and `needs_proof` come from the disposition in the plan;
    `proof` counts kept photos taken after. `place` is the fitting's, `name` its name in a sentence."""

    by: Who
    place: str
    name: str
    defect: DefectFacts
    disposition: str
    known: bool
    needs_agreement: bool
    needs_proof: bool
    proof: int


RolesDocument = Mapping[str, Any]
