"""Water of a cut: through the plant, out of the pit, and clear again in a pond.

Orders of magnitude from textbook formulas with stated rules of thumb; no permit and no
discharge limit is met by them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pennyweight.spread import Spread

#: How well water runs through gravel: low, middle, high [m/s]; Freeze and Cherry 1979,
#: Table 2.2 (clean sand 1e-6 to 1e-2, gravel 1e-3 to 1), from memory, and kept below
#: the cleanest gravel.
SEEPAGE_M_S = (1e-4, 1e-3, 5e-3)

#: Grain that a pond must hold back [m], and its density [kg/m3]: medium silt; common
#: practice, no source.
SILT_M, SILT_KG_M3 = 2e-5, 2650.0

#: Gravity [m/s2]; density [kg/m3] and viscosity [Pa s] of water at 10 degrees Celsius.
GRAVITY, WATER_KG_M3, WATER_PA_S = 9.81, 1000.0, 1.307e-3

#: A pond is larger than still water needs by this factor [-], and deeper than its mud
#: by this much [m]; common practice, no source.
RESTLESS, CLEAR_M = 1.5, 1.0

#: Share of the pay that is washed off as mud [-]; common practice, no source.
MUD_SHARE = {"clean": 0.02, "sandy": 0.05, "silty": 0.15, "clayey": 0.30}
USUAL_MUD_SHARE = 0.08

#: Length of mud by volume over that of its solids in the bank [-]; our assumption.
MUD_GROWTH = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterNeed:
    """What water a cut needs.

    Attributes
    ----------
    plant_m3_per_hour : float
        Through the plant [m3/h].
    pump_m3_per_hour : Spread or None
        Out of the pit [m3/h]; None where water was not met above its floor.
    water_depth_m : float or None
        Where water was met below the surface [m]; None where it was not.
    pond_m2, pond_m3 : float
        Surface and volume of a settling pond, its mud included [m2], [m3].
    mud_m3 : float
        Mud of the whole cut [m3].
    """

    plant_m3_per_hour: float
    pump_m3_per_hour: Spread | None
    water_depth_m: float | None
    pond_m2: float
    pond_m3: float
    mud_m3: float


def settling_speed_m_s(grain_m: float = SILT_M) -> float:
    """Return how fast a fine grain sinks in still water.

    Parameters
    ----------
    grain_m : float
        Diameter, above 0 and up to 0.1 mm [m].

    Returns
    -------
    float
        Speed [m/s].

    Raises
    ------
    ValueError
        The grain is too coarse for the formula.

    Notes
    -----
    Stokes: v = (rho_s - rho) g d^2 / (18 mu).

    References
    ----------
    Stokes 1851; docs/sources.md, entry "settling pond".

    Examples
    --------
    >>> round(settling_speed_m_s(2e-5) * 1000.0, 3)
    0.275
    """
    if not 0.0 < grain_m <= 1e-4:
        msg = f"grain_m is {grain_m} m; Stokes holds above 0 and up to 0.0001 m."
        raise ValueError(msg)
    heavier = SILT_KG_M3 - WATER_KG_M3
    return heavier * GRAVITY * grain_m**2 / (18.0 * WATER_PA_S)


def pond_area_m2(flow_m3_per_hour: float) -> float:
    """Return the surface of a pond in which silt sinks out of a flow.

    Parameters
    ----------
    flow_m3_per_hour : float
        Into the pond, 0 or more [m3/h].

    Returns
    -------
    float
        Surface [m2].

    Notes
    -----
    Flow over settling speed (Hazen), times 1.5 for water that is never still.

    References
    ----------
    Hazen 1904, Transactions ASCE 53: 45-88, from memory; docs/sources.md, entry
    "settling pond".

    Examples
    --------
    40 m3/h = 0.0111 m3/s over 0.275 mm/s are 40.4 m2; times 1.5.

    >>> round(pond_area_m2(40.0), 1)
    60.6
    """
    return RESTLESS * flow_m3_per_hour / 3600.0 / settling_speed_m_s()


def inflow_m3_per_hour(below_water_m: float, open_m2: float) -> Spread:
    """Return what seeps into a pit dug below the water, as an order of magnitude.

    Parameters
    ----------
    below_water_m : float
        Floor of the pit below the water, 0 or more [m].
    open_m2 : float
        Pit that stands open, above 0 [m2].

    Returns
    -------
    Spread
        For gravel that lets little, some and much water through [m3/h].

    Notes
    -----
    A large well that reaches the bottom of the gravel, Dupuit: Q = pi K s^2 /
    ln((R + r) / r), with r the radius of a circle as large as the pit and R = 3000 s
    sqrt(K) (Sichardt). Beside a creek more comes in.

    References
    ----------
    docs/sources.md, entry "pit inflow".

    Examples
    --------
    1 m below the water, 100 m2 open, K = 0.001 m/s: r 5.64 m, R 94.9 m, ln 2.88.

    >>> round(inflow_m3_per_hour(1.0, 100.0).p50, 2)
    3.93
    """
    radius = np.sqrt(open_m2 / np.pi)
    flows = []
    for speed in SEEPAGE_M_S:
        if below_water_m <= 0.0:
            flows.append(0.0)
            continue
        reach = 3000.0 * below_water_m * np.sqrt(speed)
        spread = np.log((reach + radius) / radius)
        flows.append(float(np.pi * speed * below_water_m**2 / spread * 3600.0))
    return Spread(flows[0], flows[1], flows[2], float(np.mean(flows)))


def need_water(
    *,
    pay_m3: float,
    plant_m3_per_hour: float,
    floor_m: float,
    open_m2: float,
    water_depth_m: float | None,
    mud_share: float,
) -> WaterNeed:
    """Return what water a cut needs.

    Parameters
    ----------
    pay_m3 : float
        Washed in all [m3 bank].
    plant_m3_per_hour : float
        Through the plant [m3/h].
    floor_m : float
        Depth of the cut [m].
    open_m2 : float
        Pit that stands open at a time, above 0 [m2].
    water_depth_m : float or None
        Where water was met [m].
    mud_share : float
        Share of the pay that goes off as mud [-].

    Returns
    -------
    WaterNeed
        Orders of magnitude.
    """
    pump = None
    if water_depth_m is not None and floor_m > water_depth_m:
        pump = inflow_m3_per_hour(floor_m - water_depth_m, open_m2)
    surface = pond_area_m2(plant_m3_per_hour)
    mud = pay_m3 * mud_share * MUD_GROWTH
    return WaterNeed(
        plant_m3_per_hour=plant_m3_per_hour,
        pump_m3_per_hour=pump,
        water_depth_m=water_depth_m,
        pond_m2=surface,
        pond_m3=surface * CLEAR_M + mud,
        mud_m3=mud,
    )
