"""Forms sent from a desk page: sent twice they act once, refused they keep what was typed."""

import uuid
from collections.abc import Callable
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from shop import clock
from shop.people import pin as pins
from shop.people.identity import By, SignedIn
from shop.reasons import Reason, Refused
from shop.record.models import Receipt
from shop.record.once import once

SENTENCES = {
    "required": "This cannot stay empty.",
    "invalid_choice": "Pick one of the list.",
    "max_length": "At most %(limit_value)d characters fit here; these are %(show_value)d.",
    "null_characters_not_allowed": "Something in it cannot be kept: type it again.",
}


class PlainForm(forms.Form):
    """Says what is wrong in our own sentences, wherever a field has no sentence of its own."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            usual = {
                code: str(text)
                for kind in reversed(type(field).__mro__)
                for code, text in getattr(kind, "default_error_messages", {}).items()
            }
            for code, sentence in SENTENCES.items():
                if str(field.error_messages.get(code)) == str(usual.get(code)):
                    field.error_messages[code] = sentence


class DeskForm(PlainForm):
    """Carries the key made when it was shown. `secret` fields never reach a receipt, not even as a plain digest."""

    key = forms.UUIDField(
        widget=forms.HiddenInput,
        initial=uuid.uuid4,
        error_messages=dict.fromkeys(("required", "invalid"), "This page is too old: open it again."),
    )
    secret: tuple[str, ...] = ()

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.reasons: list[dict[str, str]] = []
        self.status = 200

    def said(self) -> dict[str, Any]:
        """What was sent, fit to be compared with a second sending."""
        return {
            name: pins.keyed(str(value)) if name in self.secret else value
            for name, value in self.cleaned_data.items()
            if name != "key"
        }

    def refuse(self, reasons: list[Reason]) -> None:
        """Show a verb's refusal: as numbered sentences, and again at the fields they name."""
        self.status = 409
        for reason in reasons:
            field = reason.where.removeprefix("#")
            at_field = reason.where.startswith("#") and field in self.fields
            where_url = f"#id_{field}" if at_field else reason.where if reason.where.startswith("/") else ""
            self.reasons.append(
                {
                    "code": reason.code,
                    "text": reason.text,
                    "weight": str(reason.weight),
                    "where_url": where_url,
                }
            )
            if at_field:
                self.add_error(field, reason.text)


def settle(
    request: HttpRequest,
    form: DeskForm,
    act: Callable[[dict[str, Any], By], str],
    *,
    prove: Callable[[dict[str, Any]], By] | None = None,
) -> HttpResponse | None:
    """Act once and go where `act` says; None when the page has to be shown again, with `form.status`.

    `prove` asks for a secret before the act's transaction, so that a miss stays counted. A form that was already
    answered is not asked again: the secret may have been the very thing it changed.
    """
    if not form.is_valid():
        form.status = 422
        return None
    told, by = form.cleaned_data, SignedIn(request.person, request.tablet) if request.person else None
    key = str(told["key"])
    try:
        if prove and not Receipt.objects.filter(key=key, workshop=request.workshop).exists():
            by = prove(told)
        answer = once(
            key=key,
            workshop=request.workshop,
            body={"path": request.path, **form.said()},
            act=lambda: {"to": act(told, by)},
            now=clock.now(),
        )
    except Refused as refused:
        form.refuse(refused.reasons)
        return None
    return redirect(answer["to"])
