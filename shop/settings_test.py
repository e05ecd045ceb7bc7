"""Settings of the test suite: as embedded, with cheap passwords and nothing of the caller's shell.

The database may be named with DATABASE_URL, so that the same tests run on PostgreSQL.
"""

import atexit
import os
import shutil
import tempfile

for name in ("PULLPIN_MODE", "PULLPIN_MAIL", "DEBUG", "REDIS_URL", "SHOP_URL", "ALLOWED_HOSTS"):
    os.environ.pop(name, None)
os.environ["SECRET_KEY"] = "only-for-tests-" + "0123456789" * 5
os.environ["SHOP_TIME_ZONE"] = "America/Denver"
os.environ["PULLPIN_VAR"] = tempfile.mkdtemp(prefix="pullpin-tests-")
atexit.register(shutil.rmtree, os.environ["PULLPIN_VAR"], ignore_errors=True)

from shop.settings import *  # noqa: E402,F403 -- the environment has to be cleaned first

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
