"""The round over https with the gallery's own certificate, in a browser that trusts only that."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Error, Playwright, expect

from gallery_ops.certificate.authority import key_pem, make_authority, make_leaf, pem
from tests.browser.conftest import QUIETLY, program
from tests.browser.round_house import RoundHouse
from tests.browser.tapping import TABLET, listen_for_taps, ready, sent, tap, tap_button, until
from tests.browser.trusting import NAME, NAMES_LEAD_HERE, home_that_trusts

pytestmark = [pytest.mark.browser, pytest.mark.once]

OTHER = "bank.example"
NOW = datetime.fromtimestamp(time.time(), UTC)


class Certificates:
    """An authority for NAME, what it signed for NAME, and what its signer also signed for OTHER."""

    def __init__(self, folder: Path) -> None:
        made = make_authority(NAME, None, NOW)
        self.authority = folder / "authority.crt"
        self.authority.write_bytes(pem(made.authority))
        self.files = {}
        for name in (NAME, OTHER):
            leaf, key = make_leaf(made.signer, made.signer_key, name, None, NOW)
            self.files[name] = folder / f"{name}.pem"
            self.files[name].write_bytes(key_pem(key) + pem(leaf) + pem(made.signer))


@pytest.fixture
def certificates(tmp_path: Path) -> Certificates:
    return Certificates(tmp_path)


@pytest.fixture
def house(certificates: Certificates) -> Iterator[RoundHouse]:
    standing = RoundHouse(https=(certificates.files[NAME], NAME))
    yield standing
    standing.close()
    assert standing.wrong == []


@pytest.fixture
def tablet(
    play: Playwright, certificates: Certificates, tmp_path: Path
) -> Iterator[BrowserContext]:
    context = play.chromium.launch_persistent_context(
        tmp_path / "profile",
        executable_path=program(),
        args=[*QUIETLY, NAMES_LEAD_HERE],
        env=home_that_trusts(tmp_path / "home", certificates.authority),  # type: ignore[arg-type]
        viewport=TABLET,  # type: ignore[arg-type]
        has_touch=True,
    )
    listen_for_taps(context)
    yield context
    context.close()


def test_the_round_opens_without_the_network_where_the_certificate_is_trusted(
    tablet: BrowserContext, house: RoundHouse, certificates: Certificates
) -> None:
    page = tablet.new_page()
    page.goto(f"{house.address}/round/#T12")
    ready(page)
    assert page.evaluate("isSecureContext") is True
    until(page, "navigator.serviceWorker.controller !== null")
    until(page, "caches.match('/pack').then((kept) => kept !== undefined)")
    tap(page, "outbox")
    expect(page.locator("#main")).to_contain_text("This round opens without the network too.")
    tap_button(page, "Back to the round")

    house.close()
    page.reload()
    ready(page)
    tap(page, "tick 1")
    expect(page.locator('[data-key="tick 1"]')).to_have_attribute("aria-pressed", "true")
    expect(page.locator('[data-key="outbox"]')).to_contain_text("kept here")
    house.open()
    page.evaluate("dispatchEvent(new Event('online'))")
    sent(page)
    assert [action["kind"] for action in house.actions] == ["round_open", "check"]

    elsewhere = RoundHouse(https=(certificates.files[OTHER], OTHER))
    try:
        with pytest.raises(Error, match="ERR_CERT_INVALID"):  # the name is not the authority's
            page.goto(f"{elsewhere.address}/round/")
        with pytest.raises(Error, match="ERR_CERT_COMMON_NAME_INVALID"):
            page.goto(house.address.replace(NAME, "other.lan"))
    finally:
        elsewhere.close()
