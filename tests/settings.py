"""The shop's settings with fast, throw-away storage; nothing of the reader's own shop is touched.

The database file lives in a folder of this process, and not in memory: a live server answers on
threads of its own, and each needs a connection of its own under immediate transactions.
"""

import os
import tempfile
from pathlib import Path

_folder = tempfile.TemporaryDirectory(prefix="garment-counter-tests-")
for _name in [name for name in os.environ if name.startswith("GARMENT_COUNTER_")]:
    del os.environ[_name]
os.environ["GARMENT_COUNTER_DATA_DIR"] = _folder.name
os.environ["GARMENT_COUNTER_SECRET_KEY"] = "only for tests, and the same in each of their processes"

from counter.settings import *  # noqa: E402, F403
from counter.settings import DATABASES  # noqa: E402

if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["NAME"] = str(Path(_folder.name) / "shop.sqlite3")
    DATABASES["default"]["TEST"] = {"NAME": str(Path(_folder.name) / "test.sqlite3")}
    DATABASES["default"]["OPTIONS"]["init_command"] = (
        "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF; PRAGMA foreign_keys=ON;"
    )
# Kept connections would stop the test database from being dropped at the end.
DATABASES["default"]["CONN_MAX_AGE"] = 0

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
AXES_ENABLED = False  # the tests of the lock-out switch it on
WHITENOISE_AUTOREFRESH = True  # else each test client reads every static file first
