"""How does the house say no?

    GalleryError
      Refused     a rule says no: code, sentence, fields, remedy
        Forbidden   the rule is that this person may not
      Held        kept as it came, for a person to decide
      Unknown     nothing of that name in this showroom (nor is it said whether another has it)

The pure rooms raise OutOfRange and BadNumber (values/limits.py); ``Refused.from_range`` carries
them up. Doors translate once: a form error, a problem document, a verdict.
"""

from __future__ import annotations

from collections.abc import Mapping

from .values.limits import OutOfRange


class GalleryError(Exception):
    """An answer that a person gets as words.

    Parameters
    ----------
    code : stable, for programs: lower case words joined by underscores
    sentence : for people
    fields : sentence per field of the form or body
    remedy : what would help, may be empty
    """

    def __init__(
        self,
        code: str,
        sentence: str,
        fields: Mapping[str, str] | None = None,
        remedy: str = "",
    ) -> None:
        self.code = code
        self.sentence = sentence
        self.fields: dict[str, str] = dict(fields or {})
        self.remedy = remedy
        super().__init__(sentence if remedy in sentence else f"{sentence} {remedy}")


class Refused(GalleryError):
    """A rule says no."""

    @classmethod
    def from_range(cls, error: OutOfRange, *, field: str | None = None) -> Refused:
        """The same refusal as one of the pure rooms; ``field`` is the form's name for it."""
        fields = {field: error.sentence} if field else {}
        return cls("out_of_range", error.sentence, fields, error.remedy)


class Forbidden(Refused):
    """The person has not the right."""


class Held(GalleryError):
    """Kept as it came, for a person to decide."""


class Unknown(GalleryError):
    """Nothing of that name here. A stranger's thing answers like one that does not exist."""

    def __init__(self, what: str = "entry", remedy: str = "") -> None:
        super().__init__("unknown", f"There is no such {what} here.", {}, remedy)
        self.what = what
