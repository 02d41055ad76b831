"""What the counter is measured against: a bare DRF view behind session and user, as settings and URLs of their own.

It loads session and user, makes one select, two inserts and one update in one transaction on the same tables, with the
same durability, and queues its writers as the book does, which on SQLite is the faster way.
"""

from config.settings import *  # noqa: F403

INSTALLED_APPS = [app for app in INSTALLED_APPS if app != "axes"]  # noqa: F405
ROOT_URLCONF = "tests.benchmarks.bare_urls"
MIDDLEWARE = [
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
]
AUTHENTICATION_BACKENDS = ["django.contrib.auth.backends.ModelBackend"]
REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["rest_framework.authentication.SessionAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
}
