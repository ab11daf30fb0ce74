"""The digs proposed as waypoints, for a receiver or a phone's map.

Their names are those of the day plan and of the pocket form, so that what comes back
from the field is known by them.
"""

from __future__ import annotations

import os
from pathlib import Path

from pennyweight.answers.mapping import NAME_A_GRID, GroundMap
from pennyweight.answers.nextdigs import NextAnswer
from pennyweight.answers.wording import number_words, quantity_words
from pennyweight.errors import TooLittleError
from pennyweight.exchange.gpx import write_gpx
from pennyweight.exchange.shortids import number_digs
from pennyweight.records import Waypoint
from pennyweight.units import METRIC, Measures

#: Decimals of a longitude or latitude: 1 cm on the ground.
DEGREE_DECIMALS = 7


def write_planpoints(
    path: str | os.PathLike[str],
    nextdigs: NextAnswer,
    *,
    crs: str | None,
    measures: Measures = METRIC,
) -> Path:
    """Write the digs proposed as a GPX 1.1 file.

    Parameters
    ----------
    path : path-like
        Where to write.
    nextdigs : NextAnswer
        The digs proposed.
    crs : str or None
        Coordinate system of their eastings and northings.
    measures : Measures, optional
        Units of the descriptions.

    Raises
    ------
    TooLittleError
        Nothing tells where on Earth the ground lies.
    """
    if crs is None:
        msg = (
            "the ground has no coordinate system, so its digs have no place on Earth. "
            f"{NAME_A_GRID} A dig's longitude and latitude will do too."
        )
        raise TooLittleError(msg)
    target = Path(path)
    target.write_bytes(write_gpx(plan_waypoints(nextdigs, crs, measures)))
    return target


def plan_waypoints(
    nextdigs: NextAnswer, crs: str, measures: Measures
) -> tuple[Waypoint, ...]:
    """Return the digs proposed as waypoints, in the order of their ranks.

    Parameters
    ----------
    nextdigs : NextAnswer
        The digs proposed.
    crs : str
        Coordinate system of their eastings and northings.
    measures : Measures
        Units of the descriptions.
    """
    places = [(dig.easting_m, dig.northing_m) for dig in nextdigs.digs]
    grid = GroundMap(crs)
    found = []
    names = number_digs(nextdigs.book.id, places)
    for name, dig in zip(names, nextdigs.digs, strict=True):
        longitude, latitude = grid.to_degrees(dig.easting_m, dig.northing_m)
        depth = quantity_words(dig.depth_m, "length", measures)
        found.append(
            Waypoint(
                name=name,
                longitude=round(float(longitude), DEGREE_DECIMALS),
                latitude=round(float(latitude), DEGREE_DECIMALS),
                note=(
                    f"{dig.rank}: {dig.kind} to {depth}, {number_words(dig.pans)} "
                    f"pans. {dig.why}"
                ),
            )
        )
    return tuple(found)
