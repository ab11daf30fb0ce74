"""Words that can be opened where they stand, said the way one would at the creek."""

from __future__ import annotations

WORDS = {
    "bank volume": (
        "The volume that the gravel takes up in the ground, before it is dug. "
        "All grades here are per bank volume."
    ),
    "bedrock": (
        "The solid rock under all gravel. Gold often lies on it and in its cracks."
    ),
    "break-even": "The grade at which what comes in just pays for what goes out.",
    "centerline": (
        "A line drawn down the middle of the valley, downstream. Distances are "
        "measured along it and to its left and right."
    ),
    "color": "A speck of gold that you can see in the pan.",
    "cutoff": "The grade from which ground counts as pay. Below it, it is left.",
    "duplicate": (
        "A second sample of the same gravel, taken to see how far two pans of the "
        "same ground differ."
    ),
    "false bedrock": (
        "A tight layer above the true bedrock, such as clay or cemented gravel, on "
        "which gold can lie as well."
    ),
    "grade": "How much gold is in a given volume of ground in the bank.",
    "interval": (
        "The range in which the true value lies four times in five. One time in ten "
        "it is lower, one time in ten higher."
    ),
    "line": "A row of digs across the valley; a trench or what replaces it.",
    "loose volume": "The volume of gravel once dug: more than it took in the ground.",
    "merge": "Where two streaks come together into one.",
    "overburden": "What must be moved to get at the pay.",
    "pay": "The part of the ground that holds enough gold to be worth washing.",
    "reliability": (
        "Good when the true grade is likely within a quarter of the one shown, fair "
        "within six tenths, poor beyond that."
    ),
    "streak": "A band of pay that runs down the valley.",
    "strip ratio": "Volume of overburden to volume of pay.",
    "swell": (
        "How much the ground grows when it is dug. With a swell of 25 %, four buckets "
        "in the bank fill five."
    ),
    "wall": "The face of a trench or pit, with its layers.",
}
