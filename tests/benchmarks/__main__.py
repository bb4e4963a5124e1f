"""How does the program grow from 20 to 2,000 tanks? Ratios of one run against stated limits.

    python -m tests.benchmarks [--rounds 15] [--only round]

Makes a database of its own (on DATABASE_URL's server when that is set), measures, prints a table
and ends with 1 when a limit is missed. Ratios are compared, never seconds: both sides of a ratio
are measured in turns, so that a busy machine slows both.
"""

from __future__ import annotations

import argparse
import os
import sys

import django


def main() -> int:
    """Prepare a database, measure, tell."""
    asked = argparse.ArgumentParser(prog="python -m tests.benchmarks")
    asked.add_argument("--rounds", type=int, default=15, help="how often each page is asked for")
    asked.add_argument("--only", choices=["round"], help="pack and batches of a round, no more")
    given = asked.parse_args()
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    django.setup()
    os.environ["GALLERY_OPS_CLOCK"] = "2026-03-12T08:08"

    from django.test.runner import DiscoverRunner
    from django.test.utils import setup_test_environment

    from tests.benchmarks import growth

    setup_test_environment(debug=False)
    runner = DiscoverRunner(verbosity=0, interactive=False)
    databases = runner.setup_databases()
    try:
        lines = growth.measure_round(given.rounds) if given.only else growth.measure(given.rounds)
    finally:
        runner.teardown_databases(databases)
    print(growth.told(lines))
    return 1 if any(line.missed for line in lines) else 0


if __name__ == "__main__":
    sys.exit(main())
