"""The project's settings, with what tests must not share with a real desk."""

import atexit
import os
import shutil
import tempfile

_folder = tempfile.mkdtemp(prefix="kitdesk-tests-")
atexit.register(shutil.rmtree, _folder, ignore_errors=True)
os.environ["KITDESK_VAR"] = _folder
os.environ["SECRET_KEY"] = "only for tests " * 4
# The same in every process of a run: they share one migrated database.
os.environ["KITDESK_LOG_KEY"] = "the log of the tests"
for _name in (
    "EMAIL_URL",
    "KITDESK_FILES",
    "SITE_URL",
    "ALLOWED_HOSTS",
    "CSRF_TRUSTED_ORIGINS",
    "TRUSTED_PROXY",
    "DEBUG",
    "KITDESK_LOG",
    "KITDESK_METRICS",
    "KITDESK_HOOKS_PRIVATE",
):
    os.environ.pop(_name, None)

from kitdesk.database_template import SETTING  # noqa: E402
from kitdesk.settings import *  # noqa: E402, F403
from kitdesk.settings import DATABASES, STORAGES, VAR  # noqa: E402

# Argon2 takes a quarter of a second by design; tests that judge it set it back.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
# A tick in a test backs nothing up; tests of backups name a folder.
KITDESK_BACKUPS = None
# No thread reads beside the tests of a process that could answer.
KITDESK_WARMING = False
TASKS = {"default": {"BACKEND": "django_tasks.backends.immediate.ImmediateBackend"}}
# Hashed names need collectstatic; the test of the served pages sets them back.
STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
WHITENOISE_AUTOREFRESH = True
WHITENOISE_USE_FINDERS = True
DATABASES["default"]["CONN_MAX_AGE"] = 0
# Where the library of metrics has its counts, should a test turn them on.
(VAR / "metrics").mkdir()
os.environ["PROMETHEUS_MULTIPROC_DIR"] = str(VAR / "metrics")
STATIC_ROOT = VAR / "static"
STATIC_ROOT.mkdir()
if "sqlite" in DATABASES["default"]["ENGINE"]:
    # A file, as in real life: the live server's threads then meet real locks. Its safety at power
    # cuts is not needed.
    DATABASES["default"]["TEST"] = {"NAME": str(VAR / "test.sqlite3")}
    DATABASES["default"]["OPTIONS"]["init_command"] = (
        "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"
    )
elif SETTING in os.environ:
    DATABASES["default"]["TEST"] = {"TEMPLATE": os.environ[SETTING]}
