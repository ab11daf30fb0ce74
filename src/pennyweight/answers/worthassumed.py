"""What each assumption about costs, plant and walls is called, and where it is from."""

from __future__ import annotations

from pennyweight.answers.assumed import Assumption

WORTH_ASSUMPTIONS: dict[str, Assumption] = {
    "fixed_cost": Assumption(
        "cost of a season that does not grow with the volume",
        "",
        "not given, taken as nothing",
        "Say what a season costs you, whatever you move: travel, permits, repairs "
        "(fixed under [costs]).",
    ),
    "strip_cost_per_m3": Assumption(
        "cost of moving overburden, hours left out",
        "for each m3 bank",
        "a quarter of the washing cost, common practice, no source; nothing where "
        "hours or days are paid",
        "Say what moving a cubic meter of overburden costs you (strip_per_m3 under "
        "[costs]).",
    ),
    "reclaim_cost_per_m2": Assumption(
        "cost of reclaiming the ground that is opened",
        "for each m2",
        "the hours that it takes; nothing where no hour is paid",
        "Say what filling in and planting costs you (reclaim_per_m2 under [costs]).",
    ),
    "plant": Assumption(
        "washing plant",
        "",
        "common practice, no source",
        "Say what you wash with ([plant]).",
    ),
    "plant_m3_per_hour": Assumption(
        "pay that the plant washes",
        "m3 bank an hour",
        "common practice, no source",
        "Say how much pay you wash in an hour (m3_per_hour under [plant]).",
    ),
    "plant_digs_m3_per_hour": Assumption(
        "overburden that is moved",
        "m3 bank an hour",
        "common practice, no source",
        "Say how much overburden you move in an hour (digs_m3_per_hour under [plant]).",
    ),
    "plant_hours_per_day": Assumption(
        "working hours of a day with the plant",
        "h",
        "common practice, no source",
        "Say how many hours a day you work (hours_per_day under [plant]).",
    ),
    "plant_days": Assumption(
        "working days of a season",
        "days",
        "common practice, no source",
        "Say how many days a season has for you (days under [plant]).",
    ),
    "plant_min_width_m": Assumption(
        "narrowest cut that is dug",
        "m",
        "common practice, no source",
        "Say how narrow you can dig (min_width_m or min_width_ft under [plant]).",
    ),
    "plant_recovery_share": Assumption(
        "share of the raw gold that the plant keeps",
        "",
        "by the size of the gold counted, common practice, no source",
        "Test your plant with a bulk sample and say what share it keeps (recovery "
        "under [plant]).",
    ),
    "plant_water_m3_per_hour": Assumption(
        "water that the plant needs",
        "m3 an hour",
        "common practice, no source",
        "Time how long your pump or sluice takes to fill a bucket "
        "(water_m3_per_hour under [plant]).",
    ),
    "plant_largest_stone_m": Assumption(
        "longest stone that the plant passes",
        "m",
        "common practice, no source",
        "Measure the opening of your screen or hopper (largest_stone_m under [plant]).",
    ),
    "plant_moves_stone_m": Assumption(
        "longest stone that can be moved aside",
        "m",
        "common practice, no source",
        "Say what you or your digger can move (moves_stone_m under [plant]).",
    ),
    "plant_availability": Assumption(
        "share of the paid hours in which all runs",
        "",
        "common practice, no source",
        "Compare running hours with paid hours of some days (availability "
        "under [plant]).",
    ),
    "plant_days_per_week": Assumption(
        "working days of a week",
        "days",
        "common practice, no source",
        "Say how many days a week you work (days_per_week under [plant]).",
    ),
    "plant_reclaim_m2_per_hour": Assumption(
        "ground put back in an hour",
        "m2",
        "common practice, no source",
        "Say how fast you fill in and level (reclaim_m2_per_hour under [plant]).",
    ),
    "plant_people": Assumption(
        "people who are paid",
        "",
        "common practice, no source",
        "Say how many work for wages (people under [plant]).",
    ),
    "plant_fuel_l_per_hour": Assumption(
        "fuel burned in an hour",
        "l",
        "common practice, no source",
        "Say what plant, pump and digger burn (fuel_l_per_hour under [plant]).",
    ),
    "wall_slope_deg": Assumption(
        "slope of the walls, for volumes only",
        "degrees",
        "1.5 across for 1 down in gravel, 29 CFR 1926 Subpart P, appendix B, type C; "
        "steeper only where firmer ground lies below",
        "Ask whoever watches over safety at your place.",
    ),
}
