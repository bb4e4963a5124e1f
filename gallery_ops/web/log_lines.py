"""What does a log line look like? Time, level, event, then its fields as JSON.

Fields come from `extra=`; names, PINs, tokens and notes never belong there.
"""

import json
import logging

_OWN = set(vars(logging.LogRecord("", 0, "", 0, "", (), None))) | {"message", "asctime"}
_LEFT_OUT = {"request", "response", "server_time", "status_code", "data"}


class EventLine(logging.Formatter):
    """`2026-03-12T08:08:00 INFO dose.used {"tank": "T11", "volume_ul": 3000}`"""

    def __init__(self) -> None:
        super().__init__("%(asctime)s %(levelname)s %(message)s", "%Y-%m-%dT%H:%M:%S")

    def formatMessage(self, record: logging.LogRecord) -> str:
        line = super().formatMessage(record)
        fields = {k: v for k, v in vars(record).items() if k not in _OWN and k not in _LEFT_OUT}
        return f"{line} {json.dumps(fields, default=str)}" if fields else line
