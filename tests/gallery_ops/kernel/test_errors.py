"""Does a refusal carry everything that a door needs to show it?"""

import pickle

from gallery_ops.kernel.errors import Forbidden, GalleryError, Held, Refused, Unknown
from gallery_ops.kernel.values.limits import BadNumber, OutOfRange


def test_a_refusal_of_a_pure_room_keeps_its_words() -> None:
    error = OutOfRange("Dose", "0 to 30 mL", "300 mL", "Check the decimal mark.")
    refusal = Refused.from_range(error, field="dose")
    assert refusal.code == "out_of_range"
    assert refusal.fields == {"dose": error.sentence}
    assert "Check the decimal mark." in refusal.sentence
    assert Refused.from_range(error).fields == {}


def test_all_are_of_one_tree() -> None:
    assert issubclass(Forbidden, Refused)
    for kind in (Refused, Held, Unknown):
        assert issubclass(kind, GalleryError)
    assert issubclass(BadNumber, OutOfRange)


def test_a_stranger_and_nothing_get_the_same_words() -> None:
    assert Unknown("tank").sentence == "There is no such tank here."
    assert Unknown("tank").code == "unknown"


def test_an_error_of_a_pure_room_survives_a_process_border() -> None:
    error = BadNumber("Dose", "a number", "x", "Write digits.")
    again = pickle.loads(pickle.dumps(error))  # noqa: S301  our own bytes
    assert (type(again), again.sentence) == (BadNumber, error.sentence)
