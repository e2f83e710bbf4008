"""An invented shop. No make, film, place or person here is real."""

import random
import string

SHOP = {
    "name": "Quay Street Film Works",
    "address": "4 Quay Street\nHarbourton",
    "phone": "+34 600 000 104",
    "mail": "desk@quaystreet.example",
    "zone": "Europe/Madrid",
    "country": "ES",
    "public_url": "http://localhost:8000",
}
PEOPLE = [
    ("Petra Lindqvist", ["owner", "desk"], "719304", "harbour-lamp-7"),
    ("Ines Moreau", ["installer"], "482915", None),
    ("Jonas Weber", ["installer"], "615028", None),
    ("Marek Nowak", ["inspector"], "350761", None),
    ("Dora Kaya", ["desk"], "904627", "paper-boat-12"),
]
FILMS = [
    ("Harbour coat 165", "deep teal", "gloss"),
    ("Harbour coat 165 slate", "slate grey", "satin"),
    ("Harbour coat 190", "signal ochre", "gloss"),
]
CUSTOMERS = ["Ana Berg", "Łukasz Żak", "Ελένη Πάππα", "Devrim Işık", "Noor Haddad", "Tomas Prieto"]
COLOURS = ["grey", "white", "dark blue", "silver", "black"]
SIGNS = [sign for sign in string.ascii_uppercase if sign not in "IOQ"] + list(string.digits)


def vin(chance: random.Random) -> str:
    """An invented VIN under a maker code nobody has been given; no North American check digit to it."""
    return "ZZZ" + "".join(chance.choice(SIGNS) for _ in range(9)) + f"{chance.randint(0, 99999):05d}"


def plate(chance: random.Random) -> str:
    letters = "BCDFGHJKLMNPRSTVWXYZ"
    two, three = "".join(chance.sample(letters, 2)), "".join(chance.sample(letters, 3))
    return f"{two} {chance.randint(10, 99)} {three}"
