"""The portal's settings for tests: the deployed ones over a fresh data folder, with cheap passwords.

Only DATABASE_URL is taken from the environment, so that a developer's shell changes no result.
"""

import atexit
import os
import shutil
import tempfile

_DATA_DIR = tempfile.mkdtemp(prefix="portal-tests-")
atexit.register(shutil.rmtree, _DATA_DIR, ignore_errors=True)

for _name in (
    *("DEBUG", "SECRET_KEY", "ALLOWED_HOSTS", "CSRF_TRUSTED_ORIGINS", "SERVED_OVER_TLS", "STATIC_ROOT"),
    *("REDIS_URL", "REDIS_KEY_PREFIX", "TIME_ZONE", "EMAIL_URL", "DEFAULT_FROM_EMAIL", "SITE_URL"),
    *("FIRM_NAME", "FIRM_ADDRESS", "FIRM_CERTIFICATE_EU", "FIRM_CERTIFICATE_GB", "LOG_LEVEL"),
):
    os.environ.pop(_name, None)
os.environ["DATA_DIR"] = _DATA_DIR

from portal.settings import *  # noqa: E402, F403
from portal.settings import DATA_DIR, DATABASES, IS_EMBEDDED_DATABASE, STORAGES  # noqa: E402

# Argon2 is slow on purpose; the tests sign in some hundred times.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}

if IS_EMBEDDED_DATABASE:
    # A file instead of Django's usual memory, so that threads and worker processes see the same rows.
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / "test.sqlite3")}
    DATABASES["default"]["OPTIONS"]["init_command"] = "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"
else:
    # Whatever the locale that the server was set up with, the tests' database holds any letter.
    DATABASES["default"]["TEST"] = {"CHARSET": "UTF8", "TEMPLATE": "template0"}
