"""The shape of the ground under a map: soft shading and contour lines."""

from __future__ import annotations

import base64
import struct
import zlib

import numpy as np
import numpy.typing as npt
from scipy.ndimage import zoom

from pennyweight.pictures.labels import Label
from pennyweight.pictures.mapframe import MapFrame
from pennyweight.pictures.svg import Look, Markup, element, group, path_text
from pennyweight.terrain.contours import contour_lines, neat_interval
from pennyweight.terrain.elevation import ElevationModel
from pennyweight.terrain.shading import hillshade

#: Step of opacity that is told apart, of 255; coarse, so that the image stays small.
OPACITY_STEP = 2

#: Brightness of level ground under the usual light, of 255.
LEVEL_GROUND = 181.0

#: Cells finer than this are not worth their bytes [px].
FINEST_PX = 3.0

#: Cells along the longer side of an embedded image at most.
MOST_CELLS = 900


def draw_relief(
    model: ElevationModel, frame: MapFrame, look: Look
) -> tuple[Markup, list[Label]]:
    """Return shading and contours inside a frame, and the contours' labels."""
    seen = crop(model, frame)
    if min(seen.elevation_m.shape) < 2 or not np.any(np.isfinite(seen.elevation_m)):
        return Markup(""), []
    lines, labels = _contours(seen, frame, look)
    return group(_shading(seen, frame, look), lines), labels


def crop(model: ElevationModel, frame: MapFrame) -> ElevationModel:
    """Return the part of a surface that a frame shows, thinned to its pixels."""
    west, east, south, north = frame.region
    rows, columns = model.elevation_m.shape
    first = max(int((west - model.west_m) / model.cell_m) - 1, 0)
    last = min(int((east - model.west_m) / model.cell_m) + 2, columns)
    top = max(int((model.north_m - north) / model.cell_m) - 1, 0)
    bottom = min(int((model.north_m - south) / model.cell_m) + 2, rows)
    part = model.elevation_m[top : max(bottom, top), first : max(last, first)]
    thin = max(1, -(-max(part.shape, default=1) // MOST_CELLS))
    part = part[: len(part) // thin * thin, : part.shape[1] // thin * thin]
    if thin > 1 and part.size:
        part = part.reshape(len(part) // thin, thin, part.shape[1] // thin, thin).mean(
            axis=(1, 3)
        )
    return ElevationModel(
        part,
        model.west_m + first * model.cell_m,
        model.north_m - top * model.cell_m,
        model.cell_m * thin,
    )


def _shading(model: ElevationModel, frame: MapFrame, look: Look) -> Markup:
    gray = _smooth(hillshade(model).astype(np.float64), model, frame)
    if look.night:
        strength = gray / 255.0 * 0.26
    else:
        strength = np.clip((LEVEL_GROUND - gray) / LEVEL_GROUND, 0.0, 1.0) * 0.5
    strength = np.where(gray == 0.0, 0.0, strength)
    image = png_of_shade(strength, look.palette.shade)
    west, east, south, north = model.region
    (left, top), (right, bottom) = frame.to_px([west, east], [north, south])
    return element(
        "image",
        x=left,
        y=top,
        width=right - left,
        height=bottom - top,
        preserveAspectRatio="none",
        href="data:image/png;base64," + base64.b64encode(image).decode("ascii"),
    )


def _smooth(
    gray: npt.NDArray[np.float64], model: ElevationModel, frame: MapFrame
) -> npt.NDArray[np.float64]:
    """Return the shading on finer cells, so that print shows no squares."""
    finer = int(model.cell_m * frame.px_per_m / FINEST_PX)
    finer = min(finer, MOST_CELLS // max(gray.shape))
    if finer < 2 or np.any(gray == 0.0):
        return gray
    return np.asarray(zoom(gray, finer, order=1, grid_mode=True, mode="nearest"))


def png_of_shade(strength: npt.NDArray[np.float64], ink: str) -> bytes:
    """Return a PNG of one ink whose opacity is the strength of shade.

    Parameters
    ----------
    strength : ndarray, shape (n_rows, n_columns)
        0 (clear) to 1 (solid ink) [-].
    ink : str
        "#rrggbb".

    Returns
    -------
    bytes
        An image with a palette of one ink at several opacities.

    References
    ----------
    W3C, Portable Network Graphics (third edition), chunks IHDR, PLTE, tRNS, IDAT.
    """
    steps = np.rint(np.clip(strength, 0.0, 1.0) * 255.0 / OPACITY_STEP).astype(np.uint8)
    used = int(steps.max(initial=0)) + 1
    rows, columns = steps.shape
    scanlines = np.zeros((rows, columns + 1), dtype=np.uint8)
    scanlines[:, 1:] = steps
    color = bytes.fromhex(ink.removeprefix("#"))
    header = struct.pack(">IIBBBBB", columns, rows, 8, 3, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + _chunk(b"IHDR", header)
        + _chunk(b"PLTE", color * used)
        + _chunk(b"tRNS", bytes(min(step * OPACITY_STEP, 255) for step in range(used)))
        + _chunk(b"IDAT", zlib.compress(scanlines.tobytes(), 9))
        + _chunk(b"IEND", b"")
    )


def _chunk(name: bytes, content: bytes) -> bytes:
    return (
        struct.pack(">I", len(content))
        + name
        + content
        + struct.pack(">I", zlib.crc32(name + content))
    )


def _contours(
    model: ElevationModel, frame: MapFrame, look: Look
) -> tuple[Markup, list[Label]]:
    heights = model.elevation_m[np.isfinite(model.elevation_m)]
    span_m = float(heights.max() - heights.min())
    if span_m <= 0.0:
        return Markup(""), []
    step_m = neat_interval(span_m, 9 if look.narrow else 16)
    thin: list[str] = []
    bold: list[str] = []
    labels: list[Label] = []
    for level_m, line in contour_lines(model, step_m):
        points = frame.to_px(line[:, 0], line[:, 1])
        index = round(level_m / step_m) % 5 == 0
        (bold if index else thin).append(path_text(points))
        if index and len(points) > 12:
            x_px, y_px = points[len(points) // 2]
            labels.append(
                Label(
                    words=f"{level_m:g}",
                    x_px=x_px,
                    y_px=y_px,
                    importance=0.5,
                    size_px=look.small_px - 1.0,
                    ink=look.palette.soft_ink,
                    centered=True,
                )
            )
    line_ink: dict[str, str | float] = {"stroke": look.palette.contour, "fill": "none"}
    drawn = [
        element("path", d="".join(paths), stroke_width=width, **line_ink)
        for paths, width in ((thin, 0.6), (bold, 1.2))
        if paths
    ]
    return group(*drawn, stroke_opacity=0.8), labels
