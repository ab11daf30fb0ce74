"""Published settling speeds: each literal stands with the formula that is cited."""

import math

import pytest

from pennyweight.sampling import settling

WATER = 1e-6


@pytest.mark.parametrize(
    ("diameter_m", "ratio", "c2", "speed"),
    [
        (1e-4, 1.65, 1.0, 0.00753413),
        (5e-4, 1.65, 1.0, 0.0710496),
        (2e-3, 1.65, 1.0, 0.19642),
        (2e-4, 4.2, 1.0, 0.0488711),
        (1e-4, 18.3, 1.0, 0.0606424),
        (5e-4, 18.3, 1.0, 0.303799),
        (1e-3, 18.3, 1.0, 0.466371),
        (5e-4, 1.65, 0.4, 0.0949082),
    ],
)
def test_ferguson_and_church(
    diameter_m: float, ratio: float, c2: float, speed: float
) -> None:
    """Ferguson and Church (2004), eq. 4. At 2 mm a lost square root would give 3.6."""
    found = settling.ferguson_church_speed(diameter_m, ratio, WATER, c2=c2)
    assert float(found) == pytest.approx(speed, rel=1e-4)


@pytest.mark.parametrize(
    ("nominal_m", "ratio", "shape", "roundness", "speed"),
    [
        (1e-3, 1.65, 1.0, 6.0, 0.155045),
        (1e-3, 1.65, 0.7, 3.5, 0.12380),
        (2e-4, 1.65, 0.7, 3.5, 0.0195592),
        (2e-4, 4.2, 0.7, 3.5, 0.0412662),
        (5e-4, 18.3, 1.0, 6.0, 0.38340),
        (5e-4, 18.3, 0.7, 3.5, 0.299691),
        (5e-4, 18.3, 0.4, 3.5, 0.237594),
        (5e-4, 18.3, 0.2, 3.5, 0.144154),
        (1e-4, 18.3, 0.2, 3.5, 0.028513),
        (5e-4, 1.8, 0.2, 2.0, 0.0356775),
    ],
)
def test_dietrich(
    nominal_m: float, ratio: float, shape: float, roundness: float, speed: float
) -> None:
    """Dietrich (1982); coefficients read in two independent public codes."""
    found = settling.dietrich_speed(
        nominal_m, ratio, WATER, shape_factor=shape, roundness=roundness
    )
    assert float(found) == pytest.approx(speed, rel=1e-4)


def test_stokes_and_the_thin_disc() -> None:
    """Stokes (1851), quartz of 50 um; Lamb (1932), art. 339, mica 0.1 mm x 5 um."""
    quartz = settling.stokes_speed(5e-5, 1.65, WATER)
    assert float(quartz) == pytest.approx(0.00224813, rel=1e-5)
    mica = settling.disc_speed(
        1e-4, 5e-6, submerged_kg_m3=1800.0, dynamic_viscosity=1e-3
    )
    assert mica == pytest.approx(0.000866785, rel=1e-4)


@pytest.mark.parametrize(("ratio", "speed"), [(1.65, 0.0624278), (18.3, 0.232918)])
def test_rubey(ratio: float, speed: float) -> None:
    """Rubey (1933), from memory: 0.5 mm quartz and gold."""
    found = settling.rubey_speed(5e-4, ratio, WATER)
    assert float(found) == pytest.approx(speed, rel=1e-5)


def test_hydraulic_equivalence() -> None:
    """Gold of 0.25 mm like quartz of 1.657 mm, magnetite of 0.2 mm like 0.352 mm."""
    gold = settling.equal_settling_m(0.25e-3, 18.3, 1.65, viscosity=WATER)
    magnetite = settling.equal_settling_m(0.2e-3, 4.2, 1.65, viscosity=WATER)
    assert gold == pytest.approx(0.00165742, rel=1e-3)
    assert magnetite == pytest.approx(0.000351795, rel=1e-3)


def test_hydraulic_equivalence_has_two_limits() -> None:
    """sqrt(R / R) = 3.3303 when tiny, R / R = 11.0909 when coarse."""
    tiny = settling.equal_settling_m(1e-7, 18.3, 1.65, viscosity=WATER) / 1e-7
    coarse = settling.equal_settling_m(1.0, 18.3, 1.65, viscosity=WATER)
    assert tiny == pytest.approx(3.3303, rel=1e-3)
    assert coarse == pytest.approx(11.0909, rel=1e-3)


def test_rittenhouse_for_magnetite() -> None:
    """PRINTED 1.0 grade (Rittenhouse 1943); 0.78 here: deposition is more than fall."""
    quartz = settling.equal_settling_m(0.15e-3, 4.2, 1.65, viscosity=WATER)
    assert math.log2(quartz / 0.15e-3) == pytest.approx(1.0, abs=0.3)
