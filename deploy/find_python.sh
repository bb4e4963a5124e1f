# Sets $python to the Python that runs the house, or to nothing. Sourced by deploy/start, tests/run.
#
# A Python that a distribution ships is built with its compiler's profile, and one that somebody
# built by hand often is not: a bare loop took 1.4 to 1.9 times as long here, whole tests some tenth
# more. So the machine's own comes first, then the newest on the PATH. Where several would do, one
# that can make an environment is taken. GALLERY_OPS_PYTHON names one, and no other is asked.
python=
for candidate in ${GALLERY_OPS_PYTHON:-/usr/bin/python3 python3.13 python3.12 python3.11 python3}; do
    command -v "$candidate" >/dev/null 2>&1 || continue
    found=$("$candidate" -c '
import importlib.util as u, sys
print((sys.version_info >= (3, 11)) * (1 + all(map(u.find_spec, ("venv", "ensurepip")))))' 2>/dev/null)
    [ "$found" = 2 ] && python=$candidate && break
    [ "$found" = 1 ] && python=${python:-$candidate}
done
