"""What is in a salt, by its formula?

The usual errors are two: forgetting the water in a crystal (MgSO4 against MgSO4.7H2O), and reading
an oxide on a label (P2O5, K2O) as the element. A chelate is never worked out from its formula: its
iron stands on the label.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from functools import lru_cache

from gallery_ops.kernel.values.limits import OutOfRange

WEIGHTS: Mapping[str, float] = {
    "H": 1.008, "B": 10.81, "C": 12.011, "N": 14.007, "O": 15.999, "Na": 22.98976928,
    "Mg": 24.305, "Al": 26.9815384, "Si": 28.085, "P": 30.973761998, "S": 32.06, "Cl": 35.45,
    "K": 39.0983, "Ca": 40.078, "Mn": 54.938043, "Fe": 55.845, "Co": 58.933194, "Ni": 58.6934,
    "Cu": 63.546, "Zn": 65.38, "Mo": 95.95, "I": 126.90447,
}  # fmt: skip
"""Standard atomic weights, CIAAW 2021; elements with an interval by their abridged value."""

_PART = re.compile(r"([A-Z][a-z]?|\(|\))(\d*)")
_WHOLE = re.compile(r"(?:[A-Z][a-z]?\d*|\(|\)\d*)+\Z")


@lru_cache(maxsize=256)
def molar_mass_g(formula: str) -> float:
    """Mass of one mole [g/mol]; a dot sets off the water of a crystal.

    Raises OutOfRange for what is no formula, or holds an element that is not known here.

    Source: CIAAW 2021, stoichiometry.

    >>> round(molar_mass_g("MgSO4.7H2O"), 2)
    246.47
    """
    return sum(WEIGHTS[element] * n for element, n in atoms(formula).items())


def atoms(formula: str) -> Mapping[str, int]:
    """How many atoms of each element.

    >>> dict(atoms("Ca(NO3)2.4H2O"))
    {'Ca': 1, 'N': 2, 'O': 10, 'H': 8}
    """
    total: Counter[str] = Counter()
    for part in formula.strip().replace("·", ".").split("."):
        times = re.match(r"\d*", part)
        many = int(times[0]) if times and times[0] else 1
        for element, n in _atoms(
            part.removeprefix(str(many) if times and times[0] else "")
        ).items():
            total[element] += n * many
    return total


def _atoms(part: str) -> Counter[str]:
    if not _WHOLE.match(part) or part.count("(") != part.count(")"):
        raise _no_formula(part)
    levels: list[Counter[str]] = [Counter()]
    for what, count in _PART.findall(part):
        many = int(count) if count else 1
        if what == "(":
            levels.append(Counter())
        elif what == ")":
            if len(levels) < 2:
                raise _no_formula(part)
            for element, n in levels.pop().items():
                levels[-1][element] += n * many
        elif what not in WEIGHTS:
            raise _no_formula(what)
        else:
            levels[-1][what] += many
    return levels[0]


def _no_formula(got: str) -> OutOfRange:
    return OutOfRange(
        "Salt", "a formula such as KNO3 or MgSO4.7H2O", got, "Capital letters as on the jar."
    )


def mass_part(salt: str, of: str) -> float:
    """Grams of a nutrient in a gram of a salt [g/g].

    of : what the nutrient is counted as: an element (N) or a group (NO3)

    A group counts where it stands in the formula: NH4NO3 has one nitrate and two nitrogens, urea
    has nitrogen and no nitrate.

    Raises OutOfRange when the salt does not hold it.

    >>> round(mass_part("KNO3", "NO3"), 4)
    0.6133
    """
    held = atoms(salt)[of] if of in WEIGHTS and of in atoms(salt) else _groups(salt, of)
    if not held:
        raise OutOfRange("Nutrient", f"something that {salt} holds", of, "Choose another salt.")
    return held * molar_mass_g(of) / molar_mass_g(salt)


def _groups(salt: str, of: str) -> int:
    """How often a group such as NO3 stands in a formula."""
    name = re.escape(of)
    return sum(
        int(found[1] or 1) for found in re.finditer(rf"\({name}\)(\d*)|{name}(?!\d|\))", salt)
    )


def factor(given: str, wanted: str) -> float:
    """What to multiply a figure by that was given as one form and is wanted as another [g/g].

    >>> round(factor("P2O5", "P"), 4), round(factor("N", "NO3"), 3)
    (0.4364, 4.427)
    """
    ours, theirs = atoms(wanted), atoms(given)
    key = next((e for e in ours if e in theirs and e not in "OH"), None)
    if key is None:
        raise OutOfRange("Form", f"a form of what {given} holds", wanted)
    return theirs[key] / ours[key] * molar_mass_g(wanted) / molar_mass_g(given)
