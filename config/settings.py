"""Every setting of Shedbook, driven by the environment; README.md lists the ones a farm changes."""

import contextlib
import os
import tempfile
from pathlib import Path

import dj_database_url
from csp.constants import NONE, SELF
from django.core.management.utils import get_random_secret_key

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

# The server
SECRET_KEY = secret_key()
DEBUG = flag("SHEDBOOK_DEBUG")
ALLOWED_HOSTS = words("SHEDBOOK_HOSTS", "localhost,127.0.0.1,[::1]")
CSRF_TRUSTED_ORIGINS = words("SHEDBOOK_ORIGINS")
HTTPS = flag("SHEDBOOK_HTTPS")
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
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
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "crews.gatekeeper.PolicyMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "csp.middleware.CSPMiddleware",
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

# People
AUTH_USER_MODEL = "crews.User"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "crews.signing_in.RoleBackend"]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
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

# Words and times
LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English")]
LOCALE_PATHS = [BASE_DIR / "config" / "locale"]
USE_I18N = True
USE_TZ = True
TIME_ZONE = FARM_TIME_ZONE

# Files
STATIC_URL = "static/"
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = DEBUG

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
}
