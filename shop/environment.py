"""What the environment says, refused in a sentence when it is nonsense."""

import os
import re
import secrets
from pathlib import Path
from typing import Any

from django.core.exceptions import ImproperlyConfigured


def env_bool(name: str, default: str) -> bool:
    value = os.environ.get(name, default)
    if value not in ("yes", "no"):
        raise ImproperlyConfigured(f"{name} must be yes or no, not {value!r}.")
    return value == "yes"


MAIL_WAYS = {
    "console": "django.core.mail.backends.console.EmailBackend",
    "smtp": "django.core.mail.backends.smtp.EmailBackend",
}
MAIL_TLS = ("no", "starttls", "tls")


def mail_settings() -> dict[str, Any]:
    """How mails leave, as Django's settings name it. Written to the console unless a server is named.

    SHOP_MAIL is console, smtp or the path of a backend; SHOP_MAIL_HOST alone means smtp.
    """
    host = os.environ.get("SHOP_MAIL_HOST", "")
    way = os.environ.get("SHOP_MAIL") or ("smtp" if host else "console")
    if way not in MAIL_WAYS and "." not in way:
        raise ImproperlyConfigured(f"SHOP_MAIL must be console, smtp or the path of a backend, not {way!r}.")
    tls = os.environ.get("SHOP_MAIL_TLS", "starttls" if host else "no")
    if tls not in MAIL_TLS:
        raise ImproperlyConfigured(f"SHOP_MAIL_TLS must be one of {', '.join(MAIL_TLS)}, not {tls!r}.")
    port = os.environ.get("SHOP_MAIL_PORT") or {"no": "25", "starttls": "587", "tls": "465"}[tls]
    if not (port.isascii() and port.isdigit() and 0 < int(port) < 65536):
        raise ImproperlyConfigured(f"SHOP_MAIL_PORT must be a port from 1 to 65535, not {port!r}.")
    return {
        "EMAIL_BACKEND": MAIL_WAYS.get(way, way),
        "EMAIL_HOST": host,
        "EMAIL_PORT": int(port),
        "EMAIL_HOST_USER": os.environ.get("SHOP_MAIL_USER", ""),
        "EMAIL_HOST_PASSWORD": os.environ.get("SHOP_MAIL_PASSWORD", ""),
        "EMAIL_USE_TLS": tls == "starttls",
        "EMAIL_USE_SSL": tls == "tls",
        "EMAIL_TIMEOUT": 20,
        "DEFAULT_FROM_EMAIL": os.environ.get("SHOP_MAIL_FROM", ""),
    }


def bucket_name(name: str) -> str:
    """`bucket` or `bucket/folder` out of `s3://bucket/folder`; empty where nothing is said."""
    value = os.environ.get(name, "")
    found = re.fullmatch(r"s3://([a-z0-9][a-z0-9.-]{1,61}[a-z0-9](?:/[A-Za-z0-9._-]+)*)/?", value)
    if value and not found:
        raise ImproperlyConfigured(f"{name} must be s3://bucket or s3://bucket/folder, not {value!r}.")
    return found[1] if found else ""


def key_file(path: Path) -> str:
    """The secret kept in this file; made on first use, readable by its owner alone.

    O_EXCL decides which of two starting processes makes it; the other reads the winner's.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return path.read_text().strip()
    with os.fdopen(handle, "w") as out:
        secret = secrets.token_urlsafe(48)
        out.write(secret + "\n")
        out.flush()
        os.fsync(out.fileno())
    return secret
