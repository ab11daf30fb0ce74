"""Layers by texture, as they are drawn on paper: dots, circles, dashes, hatches."""

from __future__ import annotations

from collections.abc import Iterable

from pennyweight.pictures.svg import Look, Markup, element

#: Word in the material -> texture; the first word that is found decides.
TEXTURE_WORDS = (
    ("bedrock", "rock"),
    ("soil", "soil"),
    ("muck", "soil"),
    ("peat", "soil"),
    ("moss", "soil"),
    ("humus", "soil"),
    ("boulder", "boulders"),
    ("cobble", "boulders"),
    ("tailing", "tailings"),
    ("fill", "tailings"),
    ("slide", "till"),
    ("till", "till"),
    ("colluvium", "till"),
    ("tight gravel", "tight-gravel"),
    ("cemented gravel", "tight-gravel"),
    ("packed gravel", "tight-gravel"),
    ("gravel", "gravel"),
    ("caliche", "ash"),
    ("ash", "ash"),
    ("clay", "clay"),
    ("silt", "silt"),
    ("loam", "silt"),
    ("mud", "silt"),
    ("sand", "sand"),
    ("rock", "rock"),
)

#: Circles smaller than this are grains of sand, and filled [px].
GRAIN_PX = 0.7

#: What gravel is mixed with -> its texture; so that two gravels of a wall differ.
MIXED_WITH_GRAVEL = (
    ("clay", "clay-gravel"),
    ("silt", "clay-gravel"),
    ("loam", "clay-gravel"),
    ("sand", "sand-gravel"),
)

#: Texture -> size of its tile and what is drawn on it; "o" circles are (x, y, r).
_STROKES = {
    "soil": (12.0, 10.0, "M2 4v-3M3.5 4V2M8 9V6M9.5 9V7.5", ()),
    "clay": (16.0, 8.0, "M1 2h8M9 6h6M0 6h1", ()),
    "silt": (12.0, 8.0, "M1 2h3.5M7 6h3.5", ()),
    "till": (18.0, 16.0, "M3 7l3-5l3 5zM11 15l2.4-4l2.4 4z", ()),
    "ash": (12.0, 12.0, "M2 2l3 3M5 2l-3 3M8 8l3 3M11 8l-3 3", ()),
    "rock": (14.0, 14.0, "M0 14L14 0M4 4l3 3M10 12l2 2", ()),
    "tailings": (
        20.0,
        16.0,
        "M3 6l4-4M12 14l4-4",
        ((5.0, 4.0, 3.0), (14.0, 12.0, 3.0)),
    ),
    "sand": (
        9.0,
        9.0,
        "",
        ((2.0, 2.0, 0.55), (6.5, 4.0, 0.55), (3.5, 7.0, 0.55)),
    ),
    "gravel": (
        17.0,
        14.0,
        "",
        ((4.0, 4.0, 2.3), (12.5, 3.0, 1.5), (10.0, 10.0, 2.5), (2.5, 11.0, 1.3)),
    ),
    "clay-gravel": (
        18.0,
        16.0,
        "M1 8h7M11 15h6M10 1.5h5",
        ((4.5, 3.5, 2.3), (14.0, 8.0, 2.2), (5.0, 13.0, 1.6)),
    ),
    "sand-gravel": (
        17.0,
        14.0,
        "",
        (
            *((4.0, 4.0, 2.3), (10.5, 10.0, 2.5)),
            *((9.5, 3.0, 0.6), (14.0, 5.5, 0.6), (4.0, 10.0, 0.6), (15.0, 12.5, 0.6)),
        ),
    ),
    "tight-gravel": (
        12.0,
        10.0,
        "",
        ((2.8, 2.8, 2.1), (8.6, 2.4, 1.6), (6.0, 7.3, 2.2), (11.0, 7.2, 1.4)),
    ),
    "boulders": (
        30.0,
        24.0,
        "",
        ((8.5, 8.0, 5.6), (22.5, 15.5, 6.4), (22.0, 4.0, 2.0), (6.0, 19.5, 2.4)),
    ),
}


def texture_of(material: str | None) -> str | None:
    """Return the texture of a material; None where no word tells.

    >>> texture_of("rusty gravel"), texture_of("clay gravel"), texture_of("unheard of")
    ('gravel', 'clay-gravel', None)
    """
    words = (material or "").lower()
    if "gravel" in words:
        mixed = (name for word, name in MIXED_WITH_GRAVEL if word in words)
        found = next(mixed, None)
        if found is not None:
            return found
    return next((name for word, name in TEXTURE_WORDS if word in words), None)


def texture_fill(name: str | None, picture: str, look: Look) -> str:
    """Return the fill of a layer: its pattern, or plain where there is none."""
    if name is None:
        return look.palette.raised
    return f"url(#{picture}-{name})"


def define_textures(names: Iterable[str], picture: str, look: Look) -> Markup:
    """Return the patterns that a picture uses, named after the picture."""
    return element("defs", *(_pattern(name, picture, look) for name in sorted(names)))


def _pattern(name: str, picture: str, look: Look) -> Markup:
    width, height, strokes, circles = _STROKES[name]
    inks = look.palette
    return element(
        "pattern",
        element("rect", width=width, height=height, fill=inks.raised, stroke="none"),
        element("path", d=strokes, fill="none") if strokes else None,
        *(
            element(
                "circle",
                cx=x_px,
                cy=y_px,
                r=radius,
                fill=inks.ink if radius < GRAIN_PX else "none",
                stroke="none" if radius < GRAIN_PX else None,
            )
            for x_px, y_px, radius in circles
        ),
        id=f"{picture}-{name}",
        width=width,
        height=height,
        patternUnits="userSpaceOnUse",
        stroke=inks.soft_ink,
        stroke_width=0.8,
    )
