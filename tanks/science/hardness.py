"""General hardness and alkalinity: two quantities that share a degree and are not the same.

General hardness counts calcium and magnesium, alkalinity counts what binds acid (in fresh water
nearly all of it bicarbonate; the trade calls it carbonate hardness). Both are told in degrees of
10 mg/L CaO. They are two types here, and nothing turns one into the other.
"""

from __future__ import annotations

from dataclasses import dataclass

from tanks.science.numbers import not_negative
from tanks.science.salts import molar_mass_g

MMOL_PER_DEGREE = 10 / molar_mass_g("CaO")
"""One German degree is 10 mg/L CaO by definition [mmol/L]."""

_CACO3 = molar_mass_g("CaCO3")
_HCO3 = molar_mass_g("HCO3")


@dataclass(frozen=True, slots=True, order=True)
class GeneralHardness:
    """Calcium and magnesium together [mmol/L]; 0 or more."""

    mmol_per_l: float

    def __post_init__(self) -> None:
        not_negative("General hardness", "mmol/L", self.mmol_per_l)

    @classmethod
    def of_dgh(cls, dgh: float) -> GeneralHardness:
        """From German degrees.

        >>> round(GeneralHardness.of_dgh(1).mg_caco3_per_l, 2)
        17.85
        """
        not_negative("General hardness", "dGH", dgh)
        return cls(dgh * MMOL_PER_DEGREE)

    @classmethod
    def of_french_degrees(cls, fh: float) -> GeneralHardness:
        """From French degrees, 10 mg/L CaCO3 each."""
        return cls.of_mg_caco3_per_l(fh * 10)

    @classmethod
    def of_mg_caco3_per_l(cls, mg_per_l: float) -> GeneralHardness:
        """From mg/L, all of it counted as CaCO3."""
        not_negative("General hardness", "mg/L as CaCO3", mg_per_l)
        return cls(mg_per_l / _CACO3)

    @classmethod
    def of_mg_per_l(cls, calcium: float = 0.0, magnesium: float = 0.0) -> GeneralHardness:
        """From the two metals [mg/L]."""
        not_negative("Calcium", "mg/L", calcium)
        not_negative("Magnesium", "mg/L", magnesium)
        return cls(calcium / molar_mass_g("Ca") + magnesium / molar_mass_g("Mg"))

    @property
    def dgh(self) -> float:
        """German degrees."""
        return self.mmol_per_l / MMOL_PER_DEGREE

    @property
    def meq_per_l(self) -> float:
        """Equivalents: two for each mole of either metal [meq/L]."""
        return 2 * self.mmol_per_l

    @property
    def mg_caco3_per_l(self) -> float:
        """Counted as CaCO3 [mg/L]."""
        return self.mmol_per_l * _CACO3

    @property
    def mg_ca_per_l(self) -> float:
        """If all of it were calcium [mg/L]."""
        return self.mmol_per_l * molar_mass_g("Ca")

    @property
    def mg_mg_per_l(self) -> float:
        """If all of it were magnesium [mg/L]."""
        return self.mmol_per_l * molar_mass_g("Mg")


@dataclass(frozen=True, slots=True, order=True)
class Alkalinity:
    """What binds acid [meq/L]; 0 or more."""

    meq_per_l: float

    def __post_init__(self) -> None:
        not_negative("Carbonate hardness", "meq/L", self.meq_per_l)

    @classmethod
    def of_dkh(cls, dkh: float) -> Alkalinity:
        """From German degrees of carbonate hardness.

        >>> round(Alkalinity.of_dkh(1).meq_per_l, 4)
        0.3567
        """
        not_negative("Carbonate hardness", "dKH", dkh)
        return cls(dkh * 2 * MMOL_PER_DEGREE)

    @classmethod
    def of_mg_caco3_per_l(cls, mg_per_l: float) -> Alkalinity:
        """From mg/L, all of it counted as CaCO3."""
        not_negative("Carbonate hardness", "mg/L as CaCO3", mg_per_l)
        return cls(2 * mg_per_l / _CACO3)

    @property
    def dkh(self) -> float:
        """German degrees."""
        return self.meq_per_l / (2 * MMOL_PER_DEGREE)

    @property
    def mg_caco3_per_l(self) -> float:
        """Counted as CaCO3 [mg/L]."""
        return self.meq_per_l / 2 * _CACO3

    @property
    def mg_hco3_per_l(self) -> float:
        """If all of it were bicarbonate [mg/L]."""
        return self.meq_per_l * _HCO3
