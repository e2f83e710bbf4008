"""The verbs of the floor, in one place for whoever calls them."""

from shop.work.again import film_again
from shop.work.answering import Conflict, answer
from shop.work.defects import put_right, raise_defect
from shop.work.leaving import hand_over, waive
from shop.work.proofs import keep_photo, note, photo_arrived, promise_photo
from shop.work.signing import sign, sign_hidden, sign_laid, sign_ready, sign_released

__all__ = [
    "Conflict",
    "answer",
    "film_again",
    "hand_over",
    "keep_photo",
    "note",
    "photo_arrived",
    "promise_photo",
    "put_right",
    "raise_defect",
    "sign",
    "sign_hidden",
    "sign_laid",
    "sign_ready",
    "sign_released",
    "waive",
]
