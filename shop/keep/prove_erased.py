"""What was erased: said, with whom and when; and held against the rows, so that nothing else can pass for erased."""

from shop import store
from shop.keep import erased
from shop.keep.checks import Check, Tell
from shop.record.models import Private


def erasures(tell: Tell) -> Check:
    check = Check("erased")
    named: set[int] = set()
    for erasure in check.each(erased.erasures(), tell):
        check.said.append(erasure.text)
        named |= set(erasure.body["values"])
        for shelf, digest in sorted(erasure.files):
            if store.has(digest, shelf=shelf) and not erased.stays(shelf, digest, erasure):
                check.add(
                    "file", digest[:12], f"{shelf}: {digest[:12]} was erased, and its bytes are still there."
                )
    gone = set(Private.objects.filter(erased_at__isnull=False).values_list("pk", flat=True))
    for pk in sorted(named - gone):
        check.add("private", pk, f"Value {pk} was erased by the book, and it is still there.")
    for pk in sorted(gone - named):
        check.add("private", pk, f"Value {pk} is gone, and no entry of the book erased it.")
    return check
