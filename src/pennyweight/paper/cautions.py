"""What is said where a hand is about to move. Local codes decide, not this tool."""

from __future__ import annotations

#: Each a sentence or two: what can happen, what to do, whom to ask.
WALLS = (
    "A trench wall can fall at any depth and without warning, sooner when it is wet "
    "or after rain. Slope or shore it, keep the spoil well back from the edge, have "
    "a way out, never dig alone. Your local code says from which depth protection is "
    "required; less than that is not a promise."
)
WATER = (
    "Gravel below the water runs. Do not enter a hole that makes water faster than "
    "you can bail, and leave the creek bed when the creek rises."
)
SLOPES = (
    "Boulders and cut banks above a dig move without notice. Look up before you dig, "
    "and do not undercut."
)
MERCURY = (
    "Mercury lies on bedrock in ground that was worked before. Do not heat it, do not "
    "pour it out, do not handle it with bare hands; keep it sealed under water and "
    "hand it to the authority that collects it."
)
PERMITS = (
    "Digging, panning in a stream, clearing and camps need leave nearly everywhere: "
    "of the owner or claim holder, and of authorities for mines, water, fish and "
    "heritage. Ask before you dig, and before a machine comes again."
)
CAUTIONS = (WALLS, WATER, SLOPES, MERCURY, PERMITS)

#: Printed on each page that shows where the ground is.
TRUE_COORDINATES = "true coordinates: keep to yourself"
