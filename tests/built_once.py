"""What many tests of one file begin with, built once: each test finds it as it was built.

The rows stay in a transaction that spans the file and is taken back at its end; what a test does
to them is taken back when that test ends. What is built is copied for each test, as
`django.test.TestCase.setUpTestData` does, so that no test sees the objects of another.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from copy import deepcopy
from typing import Any

import pytest
from django.db import transaction


def built_once(build: Callable[[], Any]) -> tuple[Any, Any]:
    """Two fixtures: the thing built for the file, and a copy of it for each test."""

    @pytest.fixture(scope="module")
    def of_file(django_db_setup: None, django_db_blocker: Any) -> Iterator[Any]:
        with django_db_blocker.unblock(), transaction.atomic():
            yield build()
            transaction.set_rollback(True)

    @pytest.fixture
    def of_test(db: None, built: Any) -> Any:
        return deepcopy(built)

    return of_file, of_test
