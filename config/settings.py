"""Every setting of Shedbook, driven by the environment; README.md lists the ones a farm changes."""

import contextlib
import os
import tempfile
from pathlib import Path

import dj_database_url
from csp.constants import NONE, SELF
from django.core.management.utils import get_random_secret_key

from config import languages, logs

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(os.environ.get("SHEDBOOK_DATA", BASE_DIR / ".data"))
TESTING = os.environ.get("SHEDBOOK_TESTING") == "1"


def flag(name: str, default: bool = False) -> bool:
    return os.environ.get(name, "1" if default else "0").lower() in {"1", "true", "yes", "on"}


def words(name: str, default: str = "") -> list[str]:
    return [word for word in os.environ.get(name, default).split(",") if word]


def secret_key() -> str:
    """The key from the environment, else one made once and kept beside the database."""
    if key := os.environ.get("SHEDBOOK_SECRET_KEY"):
        return key
    DATA_DIR.mkdir(parents=True, exist_ok=True)
    file = DATA_DIR / "secret_key"
    if not file.exists():
        # Whole before it has its name: of two processes that start for the first time, both read the same key.
        with tempfile.NamedTemporaryFile("w", dir=DATA_DIR) as new, contextlib.suppress(FileExistsError):
            new.write(get_random_secret_key())
            new.flush()
            os.link(new.name, file)
    return file.read_text()


# The farm
FARM_NAME = os.environ.get("FARM_NAME", "Shedbook")
FARM_TIME_ZONE = os.environ.get("FARM_TIME_ZONE", "Africa/Johannesburg")
LABEL_URL_BASE = os.environ.get("LABEL_URL_BASE", "")
# Printed registers: lines under the farm's name with | between them, a picture's file, A4 or Letter.
FARM_HEADER = os.environ.get("FARM_HEADER", "")
FARM_LOGO = os.environ.get("FARM_LOGO", "")
PAPER_SIZE = os.environ.get("PAPER_SIZE", "A4")

# The server
SECRET_KEY = secret_key()
DEBUG = flag("SHEDBOOK_DEBUG")
OWN_HOSTS = words("SHEDBOOK_HOSTS", "localhost,127.0.0.1,[::1]")
# `serve --https` answers to the machine's other names and addresses as well.
ALLOWED_HOSTS = [*OWN_HOSTS]
CSRF_TRUSTED_ORIGINS = words("SHEDBOOK_ORIGINS")
HTTPS = flag("SHEDBOOK_HTTPS")
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
# Over HTTPS browsers take a cookie of such a name from this very host only (RFC 6265bis). The one against forged
# requests is read by scripts; a page that works without a line has no other place for it.
SECURE_SESSION_NAME = "__Host-sessionid"
SESSION_COOKIE_NAME = SECURE_SESSION_NAME if HTTPS else "sessionid"
# For how long browsers refuse anything but HTTPS here. None by default: where the farm's own authority is lost, or the
# page on how to trust it lies on a port beside, nobody could click past that.
SECURE_HSTS_SECONDS = int(os.environ.get("SHEDBOOK_HSTS_SECONDS", "0"))
# Of `check --deploy`: what comes by HTTP is led to HTTPS by `management/plain.py` or the farm's proxy, which know the
# port; HSTS is the farm's to choose, for this host alone (the rest of its domain is not ours, nor its preloading).
SILENCED_SYSTEM_CHECKS = ["security.W004", "security.W005", "security.W008", "security.W021"]
# Addresses of the farm's own proxy: what it says of who asked, and that it was over HTTPS, is believed.
PROXIES = words("SHEDBOOK_PROXIES")
# For `serve --https`: a certificate (with its chain) and key of one's own; without, the farm makes its own authority.
CERTIFICATE = os.environ.get("SHEDBOOK_CERTIFICATE", "")
CERTIFICATE_KEY = os.environ.get("SHEDBOOK_CERTIFICATE_KEY", "")
TRUST_DIR = DATA_DIR / "https"
# `serve --https` fills in where it answers: over HTTPS, and over HTTP for the page on how to trust it.
SECURE_PORT: int | None = None
PLAIN_PORT: int | None = None
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

INSTALLED_APPS = [
    "crews",
    "equipment",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "rest_framework",
    "rest_framework.authtoken",
    "django_filters",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "csp",
    "axes",
    "django_otp",
    "django_otp.plugins.otp_totp",
    "django_otp.plugins.otp_static",
]

MIDDLEWARE = [
    "equipment.pages.watching.requests.Watching",
    "django.middleware.security.SecurityMiddleware",
    "equipment.pages.shell.heads.Heads",
    "equipment.pages.shell.limits.Limited",
    "equipment.pages.shell.compressing.CompressForPhones",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    # Before whatever may refuse a request, so that the refusal has them too.
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "crews.sessions.LimitedSessions",
    "crews.languages.Languages",
    "crews.gatekeeper.PolicyMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "axes.middleware.AxesMiddleware",
]

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
                "equipment.pages.context.house",
            ]
        },
    }
]

# The database: one SQLite file out of the box, PostgreSQL through DATABASE_URL.
DATABASES = {
    "default": dj_database_url.config(default=f"sqlite:///{DATA_DIR / 'shedbook.sqlite3'}", conn_max_age=600)
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL",
    }
    Path(DATABASES["default"]["NAME"]).parent.mkdir(parents=True, exist_ok=True)
# A replica of it that registers and charts are read from; it is never written to.
if replica := os.environ.get("REPLICA_URL", ""):
    DATABASES["replica"] = dj_database_url.parse(replica, conn_max_age=600, conn_health_checks=True)
    DATABASES["replica"].setdefault("OPTIONS", {}).setdefault("connect_timeout", 3)
    DATABASES["replica"]["TEST"] = {"MIRROR": "default"}
DATABASE_ROUTERS = ["equipment.models.replica.Router"]

# People
AUTH_USER_MODEL = "crews.User"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "crews.signing_in.RoleBackend",
    "crews.pins.PinBackend",
    "crews.second_factor.CodeBackend",
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "crews.passwords.NoOwnWords"},
]
if TESTING:
    PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "board"
LOGOUT_REDIRECT_URL = "login"
# By user and address together: the whole farm stands behind one router.
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_FAILURE_LIMIT = 10
AXES_COOLOFF_TIME = 0.25
AXES_ENABLE_ADMIN = False
AXES_VERBOSE = False
AXES_LOCKOUT_TEMPLATE = "registration/locked.html"
# A PIN or a code must not stand in what is kept of a wrong try.
AXES_SENSITIVE_PARAMETERS = ["username", "ip_address", "pin", "code"]
# A code from one's phone beside the password, for safety officers and managers: "offered" or "demanded".
SECOND_FACTOR = os.environ.get("SHEDBOOK_SECOND_FACTOR", "offered").lower()
OTP_TOTP_ISSUER = FARM_NAME
# Whoever has done nothing for so long, or signed in so long ago, signs in again; 0 is for ever.
SESSION_IDLE_MINUTES = int(os.environ.get("SHEDBOOK_IDLE_MINUTES", "720"))
SESSION_HOURS = int(os.environ.get("SHEDBOOK_SESSION_HOURS", "168"))
SESSION_COOKIE_AGE = (SESSION_HOURS or 365 * 24) * 3600

# Backups: where to, a second place (a mounted share), how many days, weeks and months of them are kept; PostgreSQL's
# programs where they are not on the path.
BACKUP_DIR = os.environ.get("SHEDBOOK_BACKUPS", DATA_DIR / "backups")
BACKUP_COPY = os.environ.get("SHEDBOOK_BACKUP_COPY", "")
BACKUPS_KEPT = os.environ.get("SHEDBOOK_BACKUPS_KEPT", "7,5,12")
PG_TOOLS = os.environ.get("SHEDBOOK_PG_TOOLS", "")
# Health: who sends this word as `Authorization: Bearer ...` is told the figures; with less room it is not ready.
HEALTH_TOKEN = os.environ.get("SHEDBOOK_HEALTH_TOKEN", "")
LEAST_FREE_MB = int(os.environ.get("SHEDBOOK_LEAST_FREE_MB", "100"))
# The log: json, plain or off; without a word of it plain on a terminal and JSON elsewhere.
LOGGING = logs.config(
    os.environ.get("SHEDBOOK_LOG", "off" if TESTING else ""),
    os.environ.get("SHEDBOOK_LOG_LEVEL", "INFO").upper(),
)
# After so many days away a picker may be forgotten by `erase_picker --left-before`.
KEEP_PEOPLE_DAYS = os.environ.get("SHEDBOOK_KEEP_PEOPLE_DAYS", "")

# Words and times
LANGUAGE_CODE = os.environ.get("FARM_LANGUAGE", languages.ENGLISH).lower().replace("_", "-")
# A farm's own message files come before those of the program.
LOCALE_PATHS = [DATA_DIR / "locale", BASE_DIR / "config" / "locale"]
LANGUAGES = languages.found(LOCALE_PATHS)
LANGUAGE_COOKIE_AGE = 365 * 24 * 3600
LANGUAGE_COOKIE_HTTPONLY = True
LANGUAGE_COOKIE_SAMESITE = "Lax"
LANGUAGE_COOKIE_SECURE = HTTPS
USE_I18N = True
USE_TZ = True
TIME_ZONE = FARM_TIME_ZONE

# Mail: on the console until EMAIL_HOST names a server that takes it.
EMAIL_HOST = os.environ.get("EMAIL_HOST", "")
EMAIL_BACKEND = f"django.core.mail.backends.{'smtp' if EMAIL_HOST else 'console'}.EmailBackend"
EMAIL_PORT = int(os.environ.get("EMAIL_PORT", "25"))
EMAIL_HOST_USER = os.environ.get("EMAIL_HOST_USER", "")
EMAIL_HOST_PASSWORD = os.environ.get("EMAIL_HOST_PASSWORD", "")
EMAIL_USE_TLS = flag("EMAIL_USE_TLS")
EMAIL_USE_SSL = flag("EMAIL_USE_SSL")
EMAIL_TIMEOUT = 30
DEFAULT_FROM_EMAIL = os.environ.get("EMAIL_FROM", "shedbook@localhost")

# Files. How long a whole request may be, `pages/shell/limits.py` says; here the fields of a form, without its files.
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 1000
DATA_UPLOAD_MAX_NUMBER_FILES = 4
STATIC_URL = "static/"
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = DEBUG
# Our scripts and sheets are for our own pages.
WHITENOISE_ALLOW_ALL_ORIGINS = False

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "worker-src": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "base-uri": [NONE],
    }
}

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "rest_framework.authentication.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["crews.gatekeeper.PolicyPermission"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["equipment.api.parsing.Json"],
    "DEFAULT_FILTER_BACKENDS": ["django_filters.rest_framework.DjangoFilterBackend"],
    "DEFAULT_PAGINATION_CLASS": "equipment.api.pagination.KeysetPages",
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "equipment.api.errors.answer",
    "UNAUTHENTICATED_USER": "django.contrib.auth.models.AnonymousUser",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Shedbook",
    "DESCRIPTION": "The gear book of a citrus farm: one way to write, and the lists that read it.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["crews.gatekeeper.PolicyPermission"],
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "equipment.api.schema.refused_everywhere",
    ],
}
