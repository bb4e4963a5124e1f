"""The one door through which everything that was tapped comes in."""

from __future__ import annotations

import logging
from dataclasses import replace

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from gallery_ops.api.auth import (
    Asker,
    BrowserAuthentication,
    MaySend,
    TabletAuthentication,
    TokenAuthentication,
    asker_of,
)
from gallery_ops.api.problems import DeviceUnknown
from gallery_ops.api.reading import BoundedJSON
from gallery_ops.api.schema import OUTBOX_ANSWER, OUTBOX_REQUEST
from gallery_ops.kernel import clock
from gallery_ops.kernel.queries.people import current_epoch
from gallery_ops.kernel.rights import require
from maintenance.actions.apply import Sender, apply_batch
from maintenance.actions.desk import DESK
from maintenance.actions.envelope import read_request
from maintenance.queries.held import decided_for

log = logging.getLogger(__name__)


class OutboxView(APIView):
    """A batch of actions: each is kept and gets a verdict; one never stops the next."""

    authentication_classes = [TokenAuthentication, BrowserAuthentication, TabletAuthentication]
    permission_classes = [MaySend]
    parser_classes = [BoundedJSON]

    @extend_schema(request=OUTBOX_REQUEST, responses={200: OUTBOX_ANSWER})
    def post(self, request: Request) -> Response:
        """200 with one verdict an action; 4xx only when the request itself cannot be read."""
        at = clock.now()
        batch = read_request(request.data)
        sender = replace(
            _sender(asker_of(request), batch.device_id),
            boot_id=batch.boot_id,
            monotonic_ms=batch.monotonic_ms,
        )
        epoch = current_epoch()
        answers, received = apply_batch(
            sender=sender,
            actions=batch.actions,
            sent_at=batch.sent_at,
            at=at,
            epoch=epoch if batch.epoch == str(epoch) else None,
        )
        log.info(
            "outbox.received",
            extra={"actions": len(answers), "up_to": received.up_to, "gaps": len(received.missing)},
        )
        return Response(
            {
                "epoch": str(epoch or "0"),
                "server_time": clock.now().isoformat(timespec="milliseconds"),
                "received_up_to": received.up_to,
                "missing": list(received.missing),
                "verdicts": [answer.as_json() for answer in answers],
                "decided": decided_for(sender.device, at),
            }
        )


def _sender(asker: Asker, device_id: str) -> Sender:
    """The tablet when the batch is its own, else the person at a desk. Raises DeviceUnknown."""
    if asker.device is not None and device_id == str(asker.device.uid):
        return Sender(showroom=asker.device.showroom, device=asker.device)
    if device_id == DESK and asker.membership is not None:
        require(asker.membership, "record", in_=asker.showroom)
        return Sender(showroom=asker.showroom, desk=asker.membership)
    raise DeviceUnknown(
        "This batch names another tablet than the one that sent it. Everything stays on the "
        "tablet; enrol it again with a code from a manager."
    )
