"""The record book read aloud: one table from verb to sentence, for pages, papers and exports.

Bodies are read as they are, whatever version wrote them; an entry whose verb or body is not known here is named by
its verb. What panels, lines and people are called comes from whoever reads, through `Names`.
"""

import json
from collections.abc import Mapping

from shop.record.telling import Names, Sentence, Told
from shop.record.words_car import CAR
from shop.record.words_claims import CLAIMS
from shop.record.words_shop import SHOP
from shop.record.words_stock import STOCK

SENTENCES: Mapping[str, Sentence] = {**CAR, **CLAIMS, **SHOP, **STOCK}


def tell(verb: str, text: str, names: Names) -> Told:
    """What the entry with this verb and this body says."""
    sentence = SENTENCES.get(verb)
    plain = Told(verb.replace("_", " ").capitalize())
    if sentence is None:
        return plain
    try:
        return sentence(json.loads(text), names)
    except (KeyError, TypeError, ValueError, AttributeError, IndexError):
        return plain
