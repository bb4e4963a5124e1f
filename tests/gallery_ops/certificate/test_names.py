"""Which names may a gallery be reached by, and is a wrong one answered with what to write?"""

import pytest

from gallery_ops.certificate.names import Unfit, fit_address, fit_name

pytestmark = pytest.mark.once


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("gallery.lan", "gallery.lan"),
        (" Gallery.LAN. ", "gallery.lan"),
        ("undershore.local", "undershore.local"),
        ("gallery.home.arpa", "gallery.home.arpa"),  # RFC 8375
        ("tanks-2.undershore.example", "tanks-2.undershore.example"),
        ("xn--brse-5qa.lan", "xn--brse-5qa.lan"),
        ("4tanks.lan", "4tanks.lan"),  # RFC 1123 2.1: a label may begin with a digit
    ],
)
def test_a_name_is_taken_in_its_plain_form(typed: str, name: str) -> None:
    assert fit_name(typed) == name


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("", "letters, digits and hyphens"),
        ("gallery", "needs two parts, as gallery.lan"),
        ("https://gallery.lan/", "without https:// and port"),
        ("gallery.lan:8443", "without https:// and port"),
        ("192.168.1.20", "--lan-ip ADDRESS"),
        ("fd00::1", "--lan-ip ADDRESS"),
        ("[fd00::1]", "--lan-ip ADDRESS"),
        ("localhost", "leads each device to itself"),
        ("gallery.localhost", "leads each device to itself"),
        ("gallery.invalid", "names that never work"),
        ("börse.lan", "begins with xn--"),
        ("my_gallery.lan", "'my_gallery' in 'my_gallery.lan' does not"),
        ("-gallery.lan", "no hyphen at an end"),
        ("gallery..lan", "each part 1 to 63 long"),
        ("*.lan", "letters, digits and hyphens"),
        ("gal lery.lan", "letters, digits and hyphens"),
        (f"{'a' * 64}.lan", "64 characters at most; this one has 68"),
        ("gallery.1", "must not end with a number"),
        ("gallery.0x1f", "must not end with a number"),
    ],
)
def test_a_wrong_name_says_what_to_write(typed: str, sentence: str) -> None:
    with pytest.raises(Unfit) as no:
        fit_name(typed)
    assert sentence in str(no.value)


def test_an_address_inside_the_house_is_taken() -> None:
    assert fit_address(" 192.168.1.20 ") == "192.168.1.20"
    assert fit_address("[fd00:0::1]") == "fd00::1"


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("gallery.lan", "such as 192.168.1.20"),
        ("192.168.1", "such as 192.168.1.20"),
        ("127.0.0.1", "address of this machine in its network"),
        ("0.0.0.0", "address of this machine in its network"),  # noqa: S104 - refused, not bound
        ("fe80::1", "address of this machine in its network"),
        ("8.8.8.8", "known to the whole internet"),
    ],
)
def test_a_wrong_address_says_why(typed: str, sentence: str) -> None:
    with pytest.raises(Unfit) as no:
        fit_address(typed)
    assert sentence in str(no.value)
