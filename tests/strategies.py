"""Which values do the property tests try? One place for all of them."""

from datetime import UTC, datetime
from decimal import Decimal

from hypothesis import strategies as st

from gallery_ops.kernel.values.codes import ALPHABET, check_character
from gallery_ops.kernel.values.quantity import Mass, Pieces, Quantity, Volume

BASES = st.integers(min_value=-(10**15), max_value=10**15)
MARKS = st.sampled_from([".", ","])
ZONES = st.sampled_from(
    [
        "Europe/London",
        "Europe/Berlin",
        "America/New_York",
        "Australia/Lord_Howe",
        "Pacific/Auckland",
        "Asia/Kolkata",
        "UTC",
    ]
)
INSTANTS = st.datetimes(
    # hypothesis wants naive ends and adds the zone itself
    min_value=datetime(2020, 1, 1),  # noqa: DTZ001
    max_value=datetime(2035, 1, 1),  # noqa: DTZ001
    timezones=st.just(UTC),
)


def amounts() -> st.SearchStrategy[Quantity]:
    """Amounts of any kind and sign."""
    return st.one_of(st.builds(Volume, BASES), st.builds(Mass, BASES), st.builds(Pieces, BASES))


def decimals() -> st.SearchStrategy[Decimal]:
    """Numbers as people type them: up to six decimals."""
    return st.decimals(
        min_value=Decimal(-(10**9)), max_value=Decimal(10**9), places=6, allow_nan=False
    )


def codes() -> st.SearchStrategy[str]:
    """Public codes with the right check."""
    bodies = st.text(alphabet=ALPHABET, min_size=7, max_size=7)
    return bodies.map(lambda body: body + check_character(body))
