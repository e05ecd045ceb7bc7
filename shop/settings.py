"""Settings, typed from the environment; a wrong one stops the start with a sentence that names it.

Two modes. `embedded` (the default) is one machine: an SQLite file, a mailbox folder and a secret
key made on first start, all under ./var. `production` refuses to guess: it wants the secret key,
the host names and the public address to be given.
"""

import logging
import secrets
from datetime import time
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from zoneinfo import available_timezones

import environs
from django.core.exceptions import ImproperlyConfigured
from environs import validate

BASE_DIR = Path(__file__).resolve().parent.parent
env = environs.Env()


def _read() -> dict[str, Any]:
    """Return every setting that the environment may change, or say which variable is wrong."""
    mode = env.str("PULLPIN_MODE", "embedded", validate=validate.OneOf(["embedded", "production"]))
    production = mode == "production"
    var = env.path("PULLPIN_VAR", BASE_DIR / "var").absolute()
    url = env.str("SHOP_URL") if production else env.str("SHOP_URL", "http://localhost:8000")
    if urlsplit(url).scheme not in {"http", "https"} or not urlsplit(url).hostname:
        raise ImproperlyConfigured(
            f'The variable "SHOP_URL" must be an address such as https://shop.example, not "{url}".'
        )
    zone = env.str("SHOP_TIME_ZONE", "America/Denver")
    if zone not in available_timezones():
        raise ImproperlyConfigured(
            f'The variable "SHOP_TIME_ZONE" must be a zone such as America/Denver, not "{zone}".'
        )
    mail = env.str("PULLPIN_MAIL", "maildir", validate=validate.OneOf(["maildir", "smtp"]))
    return {
        "PRODUCTION": production,
        "VAR_DIR": var,
        "DEBUG": env.bool("DEBUG", False),
        "SECRET_KEY": (
            env.str("SECRET_KEY", validate=validate.Length(min=50))
            if production
            else env.str("SECRET_KEY", "") or _own_secret_key(var)
        ),
        "SECRET_KEY_FALLBACKS": env.list("SECRET_KEY_FALLBACKS", []),
        "ALLOWED_HOSTS": (
            env.list("ALLOWED_HOSTS")
            if production
            else env.list("ALLOWED_HOSTS", ["localhost", "127.0.0.1", "[::1]"])
        ),
        "BEHIND_PROXY": env.bool("BEHIND_PROXY", False),
        "DATABASE": env.dj_db_url("DATABASE_URL", f"sqlite:///{var / 'pullpin.sqlite3'}"),
        "REDIS_URL": env.str("REDIS_URL", ""),
        "DUE_TICK_SECONDS": env.int("DUE_TICK_SECONDS", 300, validate=validate.Range(min=1)),
        "DELIVER_SECONDS": env.int("DELIVER_SECONDS", 60, validate=validate.Range(min=1)),
        "REJUDGE_UTC_HOUR": env.int("REJUDGE_UTC_HOUR", 9, validate=validate.Range(0, 23)),
        "SHOP_URL": url.rstrip("/"),
        "SHOP_NAME": env.str("SHOP_NAME", "Quill Creek Tow & Coach"),
        "SHOP_TIME_ZONE": zone,
        "SHOP_POSTAL_ADDRESS": env.str(
            "SHOP_POSTAL_ADDRESS", "18 Quill Creek Road, Larkfield, CO 80000"
        ),
        "MAIL_HOURS_FROM": env.time("MAIL_HOURS_FROM", time(8)),
        "MAIL_HOURS_UNTIL": env.time("MAIL_HOURS_UNTIL", time(20)),
        "SHOP_PHONE": env.str("SHOP_PHONE", "+1 303 555 0142"),
        "SHOP_PHONE_REGION": env.str("SHOP_PHONE_REGION", "US"),
        "SHOP_PAPER": env.str("SHOP_PAPER", "letter", validate=validate.OneOf(["letter", "a4"])),
        "SHOP_UNITS": env.str("SHOP_UNITS", "us", validate=validate.OneOf(["us", "metric"])),
        "SHOP_EMAIL": env.str("SHOP_EMAIL", "desk@quillcreek.example", validate=validate.Email()),
        "PULLPIN_MAIL": mail,
        "SMTP_HOST": env.str("SMTP_HOST") if mail == "smtp" else env.str("SMTP_HOST", "localhost"),
        "SMTP_PORT": env.int("SMTP_PORT", 25),
        "SMTP_USER": env.str("SMTP_USER", ""),
        "SMTP_PASSWORD": env.str("SMTP_PASSWORD", ""),
        "SMTP_ENCRYPTION": env.str(
            "SMTP_ENCRYPTION", "none", validate=validate.OneOf(["none", "starttls", "tls"])
        ),
        "LOG_LEVEL": env.log_level("LOG_LEVEL", logging.INFO),
    }


def _own_secret_key(var: Path) -> str:
    """Return the key of this machine, made on first use and readable by its owner only."""
    file = var / "secret_key"
    try:
        return file.read_text()
    except FileNotFoundError:
        var.mkdir(parents=True, exist_ok=True)
    # Web and worker start together: whoever makes the file first decides for both.
    draft = var / f"secret_key.{secrets.token_hex(4)}"
    draft.touch(mode=0o600)
    draft.write_text(secrets.token_urlsafe(50))
    try:
        file.hardlink_to(draft)
    except FileExistsError:
        pass
    draft.unlink()
    return file.read_text()


try:
    _given = _read()
except environs.EnvError as error:
    raise ImproperlyConfigured(f"{error}".rstrip(".") + ".") from error

PRODUCTION: bool = _given["PRODUCTION"]
VAR_DIR: Path = _given["VAR_DIR"]
DEBUG: bool = _given["DEBUG"]
SECRET_KEY: str = _given["SECRET_KEY"]
SECRET_KEY_FALLBACKS: list[str] = _given["SECRET_KEY_FALLBACKS"]
ALLOWED_HOSTS: list[str] = _given["ALLOWED_HOSTS"]

# The shop.
SHOP_URL: str = _given["SHOP_URL"]
SHOP_NAME: str = _given["SHOP_NAME"]
SHOP_TIME_ZONE: str = _given["SHOP_TIME_ZONE"]
SHOP_POSTAL_ADDRESS: str = _given["SHOP_POSTAL_ADDRESS"]
SHOP_PHONE: str = _given["SHOP_PHONE"]
SHOP_PHONE_REGION: str = _given["SHOP_PHONE_REGION"]
SHOP_EMAIL: str = _given["SHOP_EMAIL"]
SHOP_PAPER: str = _given["SHOP_PAPER"]

SHOP_UNITS: str = _given["SHOP_UNITS"]

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.humanize",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.forms",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "allauth.usersessions",
    "crispy_forms",
    "csp",
    "django_htmx",
    "vehicles",
    "installs",
    "shop",
    "shop.people",
    "shop.search",
    "shop.reminders",
    "shop.outbox",
    "shop.desk",
    "shop.office",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "shop.middleware.browser_rules",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "allauth.usersessions.middleware.UserSessionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "shop.middleware.only_text",
]

ROOT_URLCONF = "shop.urls"
WSGI_APPLICATION = "shop.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
# Widgets and form parts may then be restyled in templates/ like everything else.
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
        },
    },
]
CRISPY_ALLOWED_TEMPLATE_PACKS = ("shop",)
CRISPY_TEMPLATE_PACK = "shop"

DATABASES: dict[str, dict[str, Any]] = {"default": dict(_given["DATABASE"])}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A transaction that reads first and writes later is refused at once when another one wrote
    # meanwhile, however long the timeout. IMMEDIATE takes the write lock at the start and waits
    # for it instead: tests/concurrency counts 0 refusals.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL",
    }
    Path(DATABASES["default"]["NAME"]).parent.mkdir(parents=True, exist_ok=True)
else:
    DATABASES["default"] |= {"CONN_MAX_AGE": 600, "CONN_HEALTH_CHECKS": True}

# The database is queue and truth; Redis only wakes workers and shares rate limits.
REDIS_URL: str = _given["REDIS_URL"]
DUE_TICK_SECONDS: int = _given["DUE_TICK_SECONDS"]
DELIVER_SECONDS: int = _given["DELIVER_SECONDS"]
REJUDGE_UTC_HOUR: int = _given["REJUDGE_UTC_HOUR"]
if REDIS_URL:
    CACHES = {
        "default": {
            "BACKEND": "django.core.cache.backends.redis.RedisCache",
            "LOCATION": REDIS_URL,
        }
    }
else:
    CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
CELERY_BROKER_URL = REDIS_URL or "memory://"
# A page that wakes a worker must not wait for a broker that is down: one short try is enough.
CELERY_BROKER_TRANSPORT_OPTIONS = {
    "max_retries": 1,
    "interval_start": 0,
    "interval_step": 0,
    "socket_connect_timeout": 2,
}
CELERY_TIMEZONE = "UTC"
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_TIME_LIMIT = 1800
CELERY_TASK_SOFT_TIME_LIMIT = 1740
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True

# Reminders go out between these hours on the recipient's own clock.
MAIL_HOURS_FROM: time = _given["MAIL_HOURS_FROM"]
MAIL_HOURS_UNTIL: time = _given["MAIL_HOURS_UNTIL"]

# Mail. Everything is queued as rows; only the outbox talks to the transport chosen here.
EMAIL_BACKEND = "shop.outbox.backend.QueueBackend"
DEFAULT_FROM_EMAIL = SERVER_EMAIL = SHOP_EMAIL
PULLPIN_MAIL: str = _given["PULLPIN_MAIL"]
PULLPIN_MAILBOX = VAR_DIR / "mailbox"
EMAIL_HOST: str = _given["SMTP_HOST"]
EMAIL_PORT: int = _given["SMTP_PORT"]
EMAIL_HOST_USER: str = _given["SMTP_USER"]
EMAIL_HOST_PASSWORD: str = _given["SMTP_PASSWORD"]
EMAIL_USE_TLS = _given["SMTP_ENCRYPTION"] == "starttls"
EMAIL_USE_SSL = _given["SMTP_ENCRYPTION"] == "tls"
EMAIL_TIMEOUT = 20

# Who may enter. Staff only: accounts are made by the owner, nobody signs up.
AUTH_USER_MODEL = "people.User"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "/"
ACCOUNT_ADAPTER = "shop.signin.StaffAdapter"
ACCOUNT_LOGIN_METHODS = {"email", "username"}
ACCOUNT_SIGNUP_FIELDS = ["email*", "username*", "password1*"]
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_SESSION_REMEMBER = True
ACCOUNT_LOGOUT_REDIRECT_URL = "account_login"

# Photos, made small and without what the camera wrote; never served as plain files.
PHOTOS_DIR = VAR_DIR / "photos"

# What the browser is told.
HTTPS = SHOP_URL.startswith("https://")
SESSION_COOKIE_AGE = 12 * 60 * 60
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SESSION_COOKIE_NAME = "__Host-session" if HTTPS else "session"
CSRF_COOKIE_NAME = "__Host-csrf" if HTTPS else "csrf"
CSRF_COOKIE_HTTPONLY = True
LANGUAGE_COOKIE_SECURE = HTTPS
CSRF_TRUSTED_ORIGINS = [SHOP_URL]
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
if _given["BEHIND_PROXY"]:
    # Only a proxy that overwrites this header makes it true, so somebody has to vouch for it.
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    ALLAUTH_TRUSTED_PROXY_COUNT = 1
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'self'"],
        "object-src": ["'none'"],
        "base-uri": ["'none'"],
        "frame-ancestors": ["'none'"],
        "form-action": ["'self'"],
    }
}

# Language and time: UTC in the database, the shop's zone on screen.
LANGUAGE_CODE = "en-us"
LANGUAGES = [("en-us", "English")]
LOCALE_PATHS = [BASE_DIR / "locale"]
TIME_ZONE = SHOP_TIME_ZONE
USE_TZ = True

STATIC_URL = "/static/"
# On one machine nobody runs collectstatic: the files are served from where they lie.
STATIC_ROOT = VAR_DIR / "static" if PRODUCTION else None
WHITENOISE_USE_FINDERS = not PRODUCTION
WHITENOISE_AUTOREFRESH = DEBUG
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": (
            "whitenoise.storage.CompressedManifestStaticFilesStorage"
            if PRODUCTION
            else "django.contrib.staticfiles.storage.StaticFilesStorage"
        )
    },
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {
            "format": "{asctime} {levelname} {name}: {message}",
            "style": "{",
            "datefmt": "%Y-%m-%dT%H:%M:%S%z",
        },
    },
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": _given["LOG_LEVEL"]},
    "loggers": {
        # Django would add handlers of its own, among them mail to ADMINS.
        "django": {"handlers": [], "level": "INFO", "propagate": True},
        "django.server": {"handlers": [], "level": "WARNING", "propagate": True},
        # One line for each page of each paper, and for each table of its fonts.
        "weasyprint.progress": {"handlers": [], "level": "WARNING", "propagate": True},
        "fontTools": {"handlers": [], "level": "WARNING", "propagate": True},
    },
}
