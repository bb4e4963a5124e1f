"""What differs under test? A data folder that is thrown away, quick hashes, plain file names."""

import atexit
import os
import shutil
import tempfile

_folder = tempfile.mkdtemp(prefix="gallery-ops-tests-")
atexit.register(shutil.rmtree, _folder, ignore_errors=True)
os.environ["GALLERY_OPS_DATA"] = _folder
_given = "DEBUG HTTPS HOSTS SECRET_KEY PUBLIC_URL CLOCK PROXIES LAN_URL TRUST_URL CERTIFICATE"
for _name in _given.split():
    os.environ.pop(f"GALLERY_OPS_{_name}", None)

from gallery_ops.settings import *  # noqa: E402, F403 - the environment is set first
from gallery_ops.settings import DATA_DIR, DATABASES, STATIC_ROOT  # noqa: E402

ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]", "testserver"]
STATIC_ROOT.mkdir(exist_ok=True)  # whitenoise warns of a missing folder
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
# Argon2 takes 100 MB and a tenth of a second each time: its use is tested once, in test_settings,
# and so is the number of rounds for a PIN.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
PIN_ITERATIONS = 1_000
AXES_ENABLED = False  # switched on by the tests that are about it

if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file, not memory: web threads and workers then see what they would see in a gallery.
    _base = DATABASES["default"]
    DATABASES["default"] = {
        **_base,
        "TEST": {"NAME": DATA_DIR / "test.sqlite3"},
        "OPTIONS": {
            **_base["OPTIONS"],
            "init_command": _base["OPTIONS"]["init_command"].replace(
                "synchronous=FULL", "synchronous=OFF"
            ),
        },
    }
