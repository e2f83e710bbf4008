"""One file for every shop: SQLite and a folder by default, PostgreSQL and a bucket by environment."""

import os
import sys
from pathlib import Path

# The system's SQLite may carry the WAL-reset fault (3.7.0 to 3.51.2); the wheel's does not.
# It has to be in place before Django imports its SQLite backend.
try:
    import pysqlite3

    if pysqlite3.sqlite_version_info > __import__("sqlite3").sqlite_version_info:
        sys.modules["sqlite3"] = pysqlite3
        sys.modules["sqlite3.dbapi2"] = pysqlite3.dbapi2
except ImportError:
    pass

import dj_database_url
from csp.constants import NONE, SELF

from shop.environment import bucket_name, env_bool, key_file, mail_settings

BASE_DIR = Path(__file__).resolve().parent.parent
SHOP_DATA = Path(os.environ.get("SHOP_DATA", BASE_DIR / "data" / "shop")).resolve()

# --- secrets, made at first start -------------------------------------------
SECRET_KEY = key_file(SHOP_DATA / "keys" / "secret")
PIN_KEY = key_file(SHOP_DATA / "keys" / "pin")

# --- how it is served ---------------------------------------------------------
DEBUG = env_bool("SHOP_DEBUG", "no")
TLS = env_bool("SHOP_TLS", "no")
ALLOWED_HOSTS = os.environ.get("SHOP_HOSTS", "*").split(",")
SHOP_URL = os.environ.get("SHOP_URL", "")
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = TABLET_COOKIE_SECURE = TLS
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_AGE = 12 * 3600
TABLET_COOKIE = "tablet"
TABLET_COOKIE_AGE = 400 * 24 * 3600
SECURE_SSL_REDIRECT = env_bool("SHOP_REDIRECT_TO_TLS", "no")
SECURE_HSTS_SECONDS = 31_536_000 if TLS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = TLS
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
FILE_UPLOAD_MAX_MEMORY_SIZE = 1_048_576
DATA_UPLOAD_MAX_MEMORY_SIZE = 1_048_576
DATA_UPLOAD_MAX_NUMBER_FILES = 10
FILE_UPLOAD_TEMP_DIR = SHOP_DATA / "incoming"
FILE_UPLOAD_TEMP_DIR.mkdir(parents=True, exist_ok=True)

# --- parts --------------------------------------------------------------------
INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_htmx",
    "template_partials",
    "csp",
    "shop",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "shop.lines.slow_queries_are_named",
    "shop.people.middleware.who_is_there",
    "shop.people.middleware.login_page_stays_whole",
    "shop.refusals.refusals_are_sentences",
]
ROOT_URLCONF = "shop.urls"
WSGI_APPLICATION = "shop.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "shop.pages.common",
            ],
            "builtins": ["shop.templatetags.words", "django.templatetags.static"],
        },
    }
]

# --- rows ---------------------------------------------------------------------
SQLITE_OPTIONS = {
    "transaction_mode": "IMMEDIATE",
    "timeout": 20,
    "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA journal_size_limit=67108864; "
    # What is erased is written over at once: measured, it costs a write nothing that shows.
    "PRAGMA secure_delete=ON;",
}
DATABASES = {
    "default": dj_database_url.config(
        env="SHOP_DATABASE", default=f"sqlite:///{SHOP_DATA / 'shop.sqlite3'}", conn_max_age=None
    )
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"]["OPTIONS"] = SQLITE_OPTIONS
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# --- photos and papers: folders in SHOP_DATA, or a bucket that several machines share ---
SHOP_STORE = bucket_name("SHOP_STORE")
SHOP_STORE_ENDPOINT = os.environ.get("SHOP_STORE_ENDPOINT", "")

# --- people -------------------------------------------------------------------
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in ("MinimumLengthValidator", "CommonPasswordValidator", "NumericPasswordValidator")
]
LOGIN_URL = "/sign-in/"
LOGIN_REDIRECT_URL = "/"

# --- words, numbers, time -----------------------------------------------------
LANGUAGE_CODE = "en"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

# --- what is sent to browsers -------------------------------------------------
STATIC_URL = "/static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = DEBUG
WHITENOISE_MAX_AGE = 0
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "worker-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
    }
}

# --- mail and log -------------------------------------------------------------
globals().update(mail_settings())
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"lines": {"()": "shop.lines.Lines"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "lines"}},
    "root": {"handlers": ["console"], "level": os.environ.get("SHOP_LOG", "WARNING")},
}
SILENCED_SYSTEM_CHECKS: list[str] = []
