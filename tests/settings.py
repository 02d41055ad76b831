"""The settings of the tests: the project's own, on a scratch folder and with quick passwords.

pytest reads them before any conftest, so that a bare `pytest` runs under the same conditions as `python -m tests`.
"""

import atexit
import os
import shutil
import tempfile

os.environ["SHEDBOOK_TESTING"] = "1"
# The first process makes the folder; xdist workers and commands that tests start inherit it.
if "SHEDBOOK_DATA" not in os.environ:
    os.environ["SHEDBOOK_DATA"] = tempfile.mkdtemp(prefix="shedbook-tests-")
    atexit.register(shutil.rmtree, os.environ["SHEDBOOK_DATA"], ignore_errors=True)

from config.settings import *  # noqa: F403
from config.settings import DATA_DIR, DATABASES, MIDDLEWARE

STATIC_FILES = MIDDLEWARE.index("whitenoise.middleware.WhiteNoiseMiddleware")
MIDDLEWARE[STATIC_FILES] = "tests.static_files.StaticFiles"

if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # A file, as a farm has: an in-memory database knows no WAL, no waiting and no second process.
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / "test.sqlite3")}
