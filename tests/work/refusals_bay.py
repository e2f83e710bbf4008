"""Acts of the bay, each with one fault at a time and the reasons that has to bring."""

from shop import models
from tests import make
from tests.work.refusal_cases import (
    Case,
    cold_night,
    colder,
    expire_film,
    flooded_at,
    fresh_paint,
    hold_film,
    job,
    large_for_one,
    locked,
    many,
    primed_again,
    promised_photo,
    proving,
    revoked,
    screen,
    self_release,
    to_the_last_press,
    told,
    warm_night,
)
from tests.work.world import PLACE, later

TICK = {"job": job, "key": "wash.hardware_off", "panels": [PLACE], "answer": "done"}
WIPE = {"job": job, "key": "degrease.wipe", "panels": [PLACE], "edges": ["foot"], "answer": "done"}
CLIMATE = {"air_c100": 2100, "humidity_rh10": 500, "panel_c100": 2000}
ANSWERS = many(
    "set_out", "answer", "ines", TICK,
    ("a line that is not asked", "not_asked", {"key": "wash.nothing"}),
    ("no panel for a line asked by panel", "not_asked", {"panels": []}),
    ("a panel that takes no film", "superseded", {"panels": ["roof.1"]}),
    ("not here, and no reason", "reason_missing", {"answer": "na"}),
    ("a value for a tick", "answer_unfit", {"answer": "value", "value": {"air_c100": 1}}, {"not_by": ()}),
    ("a start for a tick", "answer_unfit", {"answer": "start"}),
    ("the desk", "not_allowed", {}, {"who": "dora"}),
    ("somebody who left", "not_allowed", {}, {"who": "gone"}),
    ("somebody of another workshop", "other_workshop", {}, {"who": "otto", "not_by": ("tablet",)}),
    ("a car of another workshop", "other_workshop", {"job": 999_999}),
    ("a tablet that was revoked", "tablet_revoked", {}, {"before": revoked, "tablet": "tablet"}),
    ("a stage that is not open", "stage_closed", {"key": "degrease.wipe", "edges": ["foot"]}),
) + many(
    "answered", "answer", "ines", WIPE,
    ("an edge that is not there", "not_asked", {"edges": ["rear"]}),
    ("no edge for a line asked by edge", "not_asked", {"edges": []}),
    ("not here where it must be", "answer_unfit", {"answer": "na", "reason": "no edge"}, {}),
    ("before the signing of the stages before", "stage_closed",
     {"key": "tack.wet_through", "edges": None}),
) + many(
    "answered", "answer", "ines", {"job": job, "key": "degrease.climate", "answer": "value", "value": CLIMATE},
    ("half a reading", "reading_missing", {"value": {"air_c100": 2100}}),
    ("a figure no bay has", "answer_unfit", {"value": CLIMATE | {"air_c100": 99_999}}),
    ("a field it does not have", "answer_unfit", {"value": CLIMATE | {"mood": 3}}),
    ("a text that is no figure", "answer_unfit", {"value": CLIMATE | {"air_c100": "warm"}}),
) + many(
    "ready", "answer", "ines",
    {"job": job, "key": "tack.lot", "panels": [PLACE], "answer": "value",
     "value": {"lot": "L-2209", "roll": "R-1"}},
    ("a lot that is not on the shelf", "lot_missing", {"value": {"lot": "L-9", "roll": "R-1"}}),
    ("the roll of another car", "lot_wrong", {"value": {"lot": "L-2210", "roll": "R-9"}}),
    ("a lot held back", "lot_quarantined", {}, {"before": hold_film}),
    ("a roll past its day", "roll_expired", {}, {"before": expire_film}),
) + [
    Case("ready", "answer", "a line that was signed", {"already_signed"}, "ines", told(WIPE)),
]  # fmt: skip

FLOOD = {"job": job, "key": "tack.flooding", "panels": [PLACE], "answer": "start"}
FLOODING = many(
    "dry", "answer", "ines", FLOOD,
    ("a wipe gone stale", "stale", {}, {"wait": later(minutes=31)}),
    ("the panel too cold", "panel_cold", {}, {"state": "answered", "before": flooded_at(panel_c100=999)}),
    ("the panel too hot", "panel_hot", {}, {"state": "answered", "before": flooded_at(panel_c100=3501)}),
    ("a reading four hours old", "reading_missing primer_late", {},
     {"before": lambda w: (w.tick_clock(hours=4, minutes=2), to_the_last_press(w))}),
    ("fresh paint nobody accepted", "paint_not_accepted", {}, {"before": fresh_paint}),
    ("a defect that is open", "defect_open", {}, {"before": lambda world: world.defect()}),
    ("nothing signed", "signature_missing", {}, {"state": "answered", "before": lambda world: world._dry()}),
    ("primer of a minute ago", "primer_early", {}, {"state": "answered", "before": primed_again}),
    ("primer of an hour ago", "primer_late", {},
     {"before": lambda w: (w.tick_clock(hours=1), to_the_last_press(w))}),
    ("a large panel for one", "two_people_missing", {}, {"before": large_for_one}),
    ("a lot held back since", "lot_quarantined", {}, {"before": hold_film}),
    ("a roll past its day since", "roll_expired", {}, {"before": expire_film}),
    ("primer added since", "set_out_changed", {},
     {"before": lambda w: w.correct("mirror-left", edges=[{"code": "glass", "primer": True}])}),
)  # fmt: skip

PRIMING = {"job": job, "key": "primer.thin", "panels": [PLACE], "edges": ["foot"], "answer": "done"}
PRIMER = many(
    "answered", "answer", "ines", PRIMING,
    ("a panel near its dew point", "dew_margin", {},
     {"before": colder(air_c100=2000, humidity_rh10=750, panel_c100=1750)}),
    ("a panel too cold", "panel_cold", {}, {"before": colder(air_c100=1200, humidity_rh10=400, panel_c100=950)}),
)  # fmt: skip

ROUND = {"job": job, "key": "cure.edge_round", "panels": [PLACE], "edges": ["foot"], "answer": "done"}


CURING = many(
    "laid", "answer", "marek", ROUND,
    ("an hour after it was laid", "cure_running", {}, {"before": lambda world: world.tick_clock(hours=1)}),
    ("a night at twelve degrees", "cure_running", {}, {"before": cold_night}),
    ("a named installer", "same_person", {}, {"who": "ines"}),
    ("an installer who did nothing on it", "", {}, {"who": "kim"}),
    ("oneself, on the same day", "next_day_rule cure_running", {}, {"who": "ines", "before": self_release}),
    ("oneself, on the next day", "", {}, {"who": "ines", "before": lambda w: (self_release(w), warm_night(w))}),
    before=warm_night,
)  # fmt: skip

NOTES = many(
    "set_out", "note", "ines", {"job": job, "text": "the left lamp was cracked when it came"},
    ("nothing said", "answer_unfit", {"text": " "}),
    ("the desk", "not_allowed", {}, {"who": "dora"}),
) + many(
    "set_out", "raise_defect", "ines", {"job": job, "panel": PLACE, "kind": "speck", "found_at": "wash"},
    ("a kind the plan does not know", "answer_unfit", {"kind": "ghost"}),
    ("an edge that is not there", "not_asked", {"edge": "rear"}),
    ("a panel that takes no film", "superseded", {"panel": "roof.1"}),
    ("the desk", "not_allowed", {}, {"who": "dora"}),
) + many(
    "set_out", "put_right", "ines",
    {"job": job, "defect": lambda world: models.Defect.objects.latest("pk").pk, "kind": "cut_in_paint",
     "disposition": "put_right"},
    ("a cut in paint nobody agreed to", "photo_missing paint_cut_not_agreed", {}),
    before=lambda world: world.defect("cut_in_paint"),
)[1:]  # fmt: skip

PHOTOS = [
    *many(
    "set_out", "keep_photo", "ines",
    {"job": job, "photo": lambda world: world.photo().pk,
     "places": [{"line": "wash.hardware_off", "panel": PLACE, "edge": ""}]},
    ("a line that is not asked", "not_asked", {"places": [{"line": "wash.nothing", "panel": PLACE, "edge": ""}]}),
    ("a panel that takes no film", "superseded",
     {"places": [{"line": "wash.hardware_off", "panel": "roof.1", "edge": ""}]}),
    ("the desk", "not_allowed", {}, {"who": "dora"}),
    ),
    Case("set_out", "keep_photo", "a photo that proves another place", {"photo_reused"}, "ines",
         told({"job": job, "photo": lambda world: proving(world).pk,
                "places": [{"line": "wash.hardware_off", "panel": PLACE, "edge": ""}]}), not_by=("tablet",)),
]  # fmt: skip


HERE = {"job": job, "panels": [PLACE]}
SIGN_READY = [
    *many(
    "answered", "sign_ready", "ines", HERE,
    ("no panel", "nothing_to_sign", {"panels": []}),
    ("a wrong PIN", "pin_wrong", {}, {"pin": "111999"}),
    ("five wrong PINs before", "pin_locked", {}, {"before": locked}),
    ("an installer who is not named on it", "not_allowed", {}, {"who": "kim"}),
    ("an inspector", "not_allowed", {}, {"who": "marek"}),
    ("unsent entries on the tablet", "unsent_here", {"unsent": 3}),
    ("a photo that has not arrived", "unsent_here", {}, {"before": promised_photo}),
    ("a screen from before a tick", "screen_changed", {"screen": "f" * 64}),
    ("the screen as it is", "", {"screen": screen("ready")}),
    ("a defect that is open", "defect_open", {}, {"before": lambda world: world.defect()}),
    ("fresh paint nobody accepted", "paint_not_accepted", {}, {"before": fresh_paint}),
    ("an edge found wrong", "line_open defect_open", {},
     {"before": lambda w: w.answer("degrease.wipe", PLACE, edges=["foot"], answer="wrong", reason="fibre")}),
    ("an edge more to wipe", "line_open", {},
     {"before": lambda w: w.correct("mirror-left", features=["tight_curve", "hardware", "opens"])}),
    ("a tablet that was revoked", "tablet_revoked", {},
     {"before": revoked, "tablet": "tablet", "not_by": ("page",)}),
    pin=make.PIN,
    ),
    Case("set_out", "sign_ready", "nothing answered", {"line_open", "photo_missing"}, "ines", told(HERE), pin=make.PIN),
    Case("ready", "sign_ready", "signed already", {"already_signed"}, "jonas", told(HERE), pin=make.PIN),
    Case("arrived", "sign_ready", "nothing set out", {"superseded"}, "ines", told(HERE), pin=make.PIN,
         not_by=("page",)),
]  # fmt: skip

SIGN_ON = [
    *many(
        "finished", "sign_hidden", "marek", HERE,
        ("a named installer", "same_person not_allowed", {}, {"who": "ines"}),
        ("an installer who looks and did nothing on it", "not_allowed", {}, {"who": "kim"}),
        pin=make.PIN,
    ),
    *many(
        "laid", "sign_laid", "ines", HERE,
        ("signed already", "already_signed", {}, {"who": "jonas"}),
        pin=make.PIN,
    )[1:],
        Case("finished", "sign_laid", "hidden edges nobody looked at", {"hold_unsigned", "line_open", "photo_missing"},
             "ines", told(HERE), pin=make.PIN),
        Case("ready", "sign_laid", "nothing laid", {"line_open", "photo_missing", "hold_unsigned"}, "ines", told(HERE),
             pin=make.PIN),
    *many(
        "cured", "sign_released", "marek", HERE,
        ("a named installer", "same_person not_allowed", {}, {"who": "ines"}),
        ("a wrong PIN", "pin_wrong", {}, {"pin": "111999"}),
        ("a defect that is open", "defect_open", {}, {"before": lambda world: world.defect(stage="cure")}),
        ("primer added after it was signed", "set_out_changed", {},
         {"before": lambda w: w.correct("mirror-left", edges=[{"code": "glass", "primer": True}])}),
        pin=make.PIN,
    ),
        Case("laid", "sign_released", "no edge round", {"line_open", "photo_missing", "cure_running"}, "marek",
             told(HERE), pin=make.PIN),
        Case("released", "sign_released", "released already", {"already_signed"}, "marek", told(HERE), pin=make.PIN),
]  # fmt: skip

BAY = [*ANSWERS, *FLOODING, *PRIMER, *CURING, *NOTES, *PHOTOS, *SIGN_READY, *SIGN_ON]
