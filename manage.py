#!/usr/bin/env python
"""How does one talk to the gallery from a command line? `./manage.py help` lists the commands."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gallery_ops.settings")
    try:
        from django.core.management import execute_from_command_line
    except ImportError:
        sys.exit(
            "Django is not installed for this Python. Run deploy/start once, "
            "then use .venv/bin/python manage.py."
        )
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
