"""The pocket form with a book's plan in it: one HTML file for a phone.

The file opens with no network and no server. It carries where the digs are, in true
coordinates: whoever has it knows the ground.
"""

from __future__ import annotations

import csv
import io
import json
from importlib.resources import files
from pathlib import Path
from typing import Any

from pennyweight.answers.ground import GroundAnswer
from pennyweight.answers.mapping import GroundMap
from pennyweight.answers.nextdigs import NextAnswer
from pennyweight.errors import CallError
from pennyweight.exchange.countedclasses import find_classes
from pennyweight.exchange.fieldlogwriting import fieldlog_files
from pennyweight.exchange.shortids import number_digs
from pennyweight.records import Log
from pennyweight.units import FEET_AND_YARDS, METRIC, Measures

#: Version of the plan inside the form; the form reads this one.
PLAN_VERSION = 1

_MARK = "{{plan}}"


def write_pocketform(
    path: Path,
    ground: GroundAnswer,
    log: Log,
    *,
    nextdigs: NextAnswer | None = None,
    measures: Measures = METRIC,
) -> Path:
    """Write the pocket form of a book.

    Parameters
    ----------
    path : Path
        A name ending in .html.
    ground : GroundAnswer
        The record laid out on the map.
    log : Log
        The record.
    nextdigs : NextAnswer, optional
        The digs that are proposed.
    measures : Measures, optional
        Units of the user.

    Returns
    -------
    Path
        What was written.

    Raises
    ------
    CallError
        The form was not built into the package.
    """
    plan = make_plan(ground, log, nextdigs=nextdigs, measures=measures)
    path.write_text(fill_form(plan), encoding="utf-8")
    return path


def fill_form(plan: dict[str, Any]) -> str:
    """Return the form's page with a plan in it.

    Raises
    ------
    CallError
        The form was not built into the package.
    """
    form = files("pennyweight").joinpath("web/static/pocket.html")
    if not form.is_file():
        msg = f"{form.name} is not built into the package; run make setup."
        raise CallError(msg)
    # Inside a script element only "<" can end it; JSON may write it as an escape.
    carried = json.dumps(plan, ensure_ascii=False).replace("<", "\\u003c")
    carried = carried.encode("utf-8", "backslashreplace").decode()
    return form.read_text(encoding="utf-8").replace(_MARK, carried)


def make_plan(
    ground: GroundAnswer,
    log: Log,
    *,
    nextdigs: NextAnswer | None = None,
    measures: Measures = METRIC,
) -> dict[str, Any]:
    """Return what the form carries along, as JSON values.

    Parameters
    ----------
    ground, log, nextdigs, measures
        As for `write_pocketform`.
    """
    cells = _dig_cells(log)
    grid = GroundMap(ground.crs)
    return {
        "pocket_plan": PLAN_VERSION,
        "book": {
            "id": log.ground.log_id or ground.book.id,
            "name": ground.name or ground.book.name,
        },
        "made_at": ground.made_at,
        "measures": "feet" if measures == FEET_AND_YARDS else "metric",
        "classes": list(find_classes(log)),
        "digs": [
            {
                "dig": dig.dig,
                "line": dig.line or "",
                **_degrees(grid, dig.easting_m, dig.northing_m),
                "cells": cells.get(dig.dig, {"dig": dig.dig}),
            }
            for dig in ground.digs
        ],
        "lines": [line.line for line in ground.lines],
        "proposed": [] if nextdigs is None else _proposed(nextdigs, grid),
    }


def _proposed(nextdigs: NextAnswer, grid: GroundMap) -> list[dict[str, Any]]:
    places = [(dig.easting_m, dig.northing_m) for dig in nextdigs.digs]
    names = number_digs(nextdigs.book.id, places)
    return [
        {
            "dig": name,
            "line": dig.line or "",
            "kind": dig.kind,
            **_degrees(grid, dig.easting_m, dig.northing_m),
            "depth_m": round(dig.depth_m, 2),
            "pans": round(dig.pans),
            "hours": round(dig.hours, 1),
            "why": dig.why,
        }
        for name, dig in zip(names, nextdigs.digs, strict=True)
    ]


def _degrees(
    grid: GroundMap, easting_m: float | None, northing_m: float | None
) -> dict[str, float | None]:
    if grid.crs is None or easting_m is None or northing_m is None:
        return {"longitude": None, "latitude": None}
    longitude, latitude = grid.to_degrees(easting_m, northing_m)
    return {
        "longitude": round(float(longitude), 7),
        "latitude": round(float(latitude), 7),
    }


def _dig_cells(log: Log) -> dict[str, dict[str, str]]:
    """Return the digs' cells as the field log writes them, empty ones left out."""
    written = fieldlog_files(Log(ground=log.ground, digs=log.digs))
    text = written.get("digs.csv", b"").decode("utf-8-sig")
    rows = csv.DictReader(io.StringIO(text, newline=""))
    return {
        row["dig"]: {heading: cell for heading, cell in row.items() if cell}
        for row in rows
    }
