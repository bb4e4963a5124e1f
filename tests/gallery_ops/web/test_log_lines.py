"""Does a log line carry the fields of its event?"""

import logging

from gallery_ops.web.log_lines import EventLine


def test_fields_follow_the_event_as_json() -> None:
    record = logging.LogRecord("maintenance", logging.INFO, "", 1, "dose.used", (), None)
    record.tank, record.volume_ul = "T11", 3000
    line = EventLine().format(record)
    assert line.endswith('INFO dose.used {"tank": "T11", "volume_ul": 3000}')


def test_an_event_without_fields_stays_plain() -> None:
    record = logging.LogRecord("web", logging.WARNING, "", 1, "gone", (), None)
    assert EventLine().format(record).endswith("WARNING gone")
