"""Where do messages wait when there is no Redis? In a folder, each in a file of its own.

The library writes a file under the name that the worker looks for: a worker that looks just then
takes an empty file, cannot read it and ends. Here a message gets that name once it is whole.
"""

import os
from pathlib import Path
from time import monotonic
from typing import Any
from uuid import uuid4

from kombu.exceptions import ChannelError
from kombu.transport import filesystem
from kombu.utils.json import dumps


class Channel(filesystem.Channel):
    """One connection's view of the folder."""

    def _put(self, queue: str, payload: Any, **_: Any) -> None:  # type: ignore[override]
        """Add a message; names sort by the moment of writing, as the library reads them.

        Raises
        ------
        ChannelError
            When the folder may not be written.
        """
        name = f"{round(monotonic() * 1000)}_{uuid4()}.{queue}.msg"
        whole = Path(self.data_folder_out) / name
        part = whole.with_name(f"{name}.part")
        try:
            part.write_text(dumps(payload), encoding="utf-8")  # type: ignore[no-untyped-call]
            os.replace(part, whole)
        except OSError as trouble:
            raise ChannelError(
                f"Cannot add {whole} to the queue ({trouble.strerror})."
            ) from trouble


class Transport(filesystem.Transport):
    """As the library's, with whole files."""

    Channel = Channel
