"""Does a worker that looks into the folder at any moment find whole messages or none?"""

import os
from collections.abc import Iterator
from pathlib import Path
from queue import Empty
from typing import Any

import pytest
from kombu import Connection
from kombu.exceptions import ChannelError

from gallery_ops.celery import app
from gallery_ops.kernel import file_queue

pytestmark = pytest.mark.once


@pytest.fixture
def channel(tmp_path: Path) -> Iterator[Any]:
    """Asked for by the name in the settings, so that it is the one which the program gets."""
    assert app.conf.broker_url is not None
    for name in ("queue", "control"):
        (tmp_path / name).mkdir()
    options = {
        "data_folder_in": str(tmp_path / "queue"),
        "data_folder_out": str(tmp_path / "queue"),
        "control_folder": str(tmp_path / "control"),
    }
    with Connection("filesystem://localhost", transport_options=options) as connection:
        yield connection.channel()


def test_a_message_that_is_not_whole_yet_is_not_there(
    channel: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked = []

    def look_first(part: Path, whole: Path) -> None:
        with pytest.raises(Empty):
            channel._get("jobs")
        looked.append(part.stat().st_size)
        part.rename(whole)

    monkeypatch.setattr(file_queue.os, "replace", look_first)
    channel._put("jobs", {"body": "wake"})
    assert looked[0] > 0
    assert channel._get("jobs") == {"body": "wake"}
    assert os.listdir(tmp_path / "queue") == []


def test_messages_come_in_order_and_each_to_its_own_queue(
    channel: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    for n, queue in enumerate(("jobs", "other", "jobs")):
        monkeypatch.setattr(file_queue, "monotonic", lambda n=n: 5.0 + n)
        channel._put(queue, n)
    assert [channel._get("jobs"), channel._get("jobs"), channel._get("other")] == [0, 2, 1]
    with pytest.raises(Empty):
        channel._get("jobs")


def test_a_folder_that_is_gone_is_told(channel: Any, tmp_path: Path) -> None:
    (tmp_path / "queue").rmdir()
    with pytest.raises(ChannelError, match="to the queue"):
        channel._put("jobs", {})
