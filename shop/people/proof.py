"""Proving at the desk, by whichever of the two secrets somebody types."""

from shop import clock
from shop.people import passwords, pin
from shop.people.identity import Proven


def prover(request):
    """For `settle`: the signed-in person, proven by the PIN or password in the form's field `proof`."""

    def proven(told) -> Proven:
        secret, now = told["proof"], clock.now()
        # A password that is all digits is never taken, so digits are a PIN.
        if secret.isdecimal():
            return pin.prove(request.person, secret, now=now, tablet=request.tablet)
        return passwords.prove_password(request.person, secret, now=now)

    return proven
