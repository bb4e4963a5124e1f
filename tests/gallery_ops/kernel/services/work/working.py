"""What tests of the work to be done share: noting what was done, threads at once."""

import threading
from datetime import datetime
from typing import Any

from django.db import connections, transaction

from gallery_ops.kernel import register
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.work import want_work
from tests.builders.people import AT


def noting(kind: str, done: list[Any], **more: Any) -> None:
    @register.job(kind, **more)
    def handler(showroom: Showroom, subject: str, at: datetime) -> None:
        done.append((showroom.code, subject, at))


def want_and_fail(showroom: Showroom) -> None:
    with transaction.atomic():
        want_work(showroom, "watch", at=AT)
        raise RuntimeError


def at_once(many: int, deed: Any) -> None:
    at_once_each(*[deed] * many)


def at_once_each(*deeds: Any) -> None:
    errors: list[BaseException] = []

    def run(deed: Any) -> None:
        try:
            deed()
        except BaseException as error:
            errors.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=(deed,)) for deed in deeds]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert errors == []
