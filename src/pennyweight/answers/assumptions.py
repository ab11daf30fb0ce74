"""What each assumption is called, its unit and where its default comes from.

An answer's `assumptions` hold a number under a key; here stand the words that the
page and the report show with it. A key like `color_mg_0.25-0.5` is looked up by its
beginning, the rest is the class or material that it speaks of.
"""

from __future__ import annotations

from pennyweight.answers.assumed import Assumption
from pennyweight.answers.worthassumed import WORTH_ASSUMPTIONS

ASSUMPTIONS: dict[str, Assumption] = WORTH_ASSUMPTIONS | {
    "swell": Assumption(
        "growth of the ground when dug",
        "",
        "gravel 20-25 %, Wells (1969), BLM Technical Bulletin 4; others US Army FM "
        "5-434, from memory",
        "Dig a neat hole, fill measured buckets from it, enter it as a bucket test.",
    ),
    "pan_volume_l": Assumption(
        "what a pan holds, struck level",
        "l loose",
        "16-inch pan, 336 cubic inches, Wells (1969), BLM Technical Bulletin 4; "
        "another rim, where it was told, by the list of pan sizes",
        "Count struck pans into a bucket of known volume and enter the volume.",
    ),
    "stream_head_m2": Assumption(
        "catchment from which a stream is drawn",
        "m²",
        "channel heads were found below 1,000 to 100,000 m², Montgomery and Dietrich "
        "(1988), from memory; the value is ours",
        "Draw the feeders that you know as tributaries; they are followed from their "
        "heads, however small.",
    ),
    "flood_discharges_m3_s": Assumption(
        "floods tried, for want of boulders",
        "m³/s",
        "what fills the creek 0.4 to 3 m deep by Manning's law; ours",
        "Measure the three largest stones that water moved, three axes each.",
    ),
    "largest_gravel_m": Assumption(
        "largest stone of the gravel",
        "m",
        "ours: the border of cobbles and boulders",
        "Write the largest stone of each layer (largest_clast).",
    ),
    "gold_sizes_mm": Assumption(
        "sizes of gold looked for",
        "mm",
        "ours: usual sizes of colors",
        "Count colors by size class.",
    ),
    "heap_deg": Assumption(
        "slope of the heap on a heaped pan",
        "degrees",
        "ours: it settles and loses its tip",
        "Count heaped pans into a marked bucket; that needs no slope.",
    ),
    "rock_g_cm3": Assumption(
        "density of the rock of the specimen",
        "g/cm3",
        "quartz, mineral tables",
        "Weigh a piece of the same rock without gold in air and in water.",
    ),
    "water_c": Assumption(
        "temperature of the water",
        "C",
        "common practice, no source",
        "Hold a thermometer into the creek.",
    ),
    "color_cv": Assumption(
        "how much single colors vary, standard deviation over mean",
        "",
        "ours",
        "Size the colors, or weigh some samples of them.",
    ),
    "between_digs": Assumption(
        "how much grade varies from dig to dig, standard deviation over mean",
        "",
        "ours: placer ground is uneven",
        "Write digs down in a book; it learns this from them.",
    ),
    "gy_factor": Assumption(
        "shape and grading of the gold in the charge",
        "",
        "flakes 0.2 times a mixed grading 0.25, Gy (1979), from memory",
        "Take several charges, and let their scatter tell.",
    ),
    "recovery_share": Assumption(
        "share of the colors in place that panning finds",
        "",
        "common practice, no source",
        "Put counted grains into washed tailings, pan them, enter it as a pan test.",
    ),
    "color_mg": Assumption(
        "mean mass of a color",
        "mg",
        "flakes a tenth as thick as wide, after Clifton et al. (1969), USGS PP 625-C; "
        "weight classes by their bounds, Wells (1969)",
        "Weigh the gold of some samples and enter the weight.",
    ),
    "balance_step_mg": Assumption(
        "reading step of the balance",
        "mg",
        "our assumption",
        "Enter the step of your balance with the sample.",
    ),
    "fineness": Assumption(
        "gold in raw gold",
        "parts in 1000",
        "average of California placers, Wells (1969)",
        "Have a melt assayed and enter its fineness.",
    ),
    "grade_prior_mg_m3": Assumption(
        "typical grade of a ground before anything is washed",
        "mg/m3 bank",
        "our assumption; a factor of 7 either way for two grounds in three",
        "Wash more samples: they outweigh it.",
    ),
    "stream_width_km": Assumption(
        "ground that a kilometer of stream drains, where no surface tells",
        "km2",
        "ours",
        "Add an elevation model that reaches to the divides.",
    ),
    "head_area_km2": Assumption(
        "ground above where the creek was drawn to",
        "km2",
        "ours",
        "Draw the creek up to where its water begins, or add an elevation model.",
    ),
    "feeder_head_area_km2": Assumption(
        "ground above the head of a drawn feeder",
        "km2",
        "ours",
        "Draw the feeder up to where its water begins, or add an elevation model.",
    ),
    "slope_power": Assumption(
        "how much more sediment steeper ground gives, as a power of its slope",
        "",
        "ours",
        "Nothing replaces it; it moves the answer little.",
    ),
    "source_strength_colors_km2_m3": Assumption(
        "what one source gives, a factor of ten either way for two in three",
        "colors a m3, of 1 km2",
        "ours",
        "Wash more samples: they outweigh it.",
    ),
    "stray_colors": Assumption(
        "colors that stray into a barren sample",
        "a sample",
        "ours",
        "Wash blanks, and enter them.",
    ),
    "walking_km_h": Assumption(
        "walking along a creek",
        "km/h",
        "common practice, no source",
        "Nothing replaces it yet.",
    ),
    "pan_hours": Assumption(
        "digging and washing one pan",
        "hours",
        "common practice, no source",
        "Nothing replaces it yet.",
    ),
    "rock_weight_most": Assumption(
        "how much likelier all rocks together make a source, at most",
        "times",
        "ours: trade lore, no published odds",
        "Wash more samples: they outweigh it.",
    ),
    "grain_weight_most": Assumption(
        "how much likelier grains make one place than another, at most",
        "times",
        "ours; stages after Giusti (1986) in Macdonald (2007)",
        "Measure more grains, at more places.",
    ),
    "richest_over_allowed": Assumption(
        "how much richer than any dig allows ground may be, at most",
        "times",
        "our choice; no made ground of 8 to 15 digs went beyond 9.2",
        "Dig where the trace is open: every dig narrows it.",
    ),
    "draws_worth_share": Assumption(
        "share of the draws that still counts once each is weighed by the exact "
        "probability of the counts",
        "",
        "importance weights, Kish (1965); 1 is perfect, above 0.1 will do",
        "Nothing to enter: it tells how good the bell curve behind the draws is.",
    ),
    "draws_gold_ratio": Assumption(
        "gold of the draws so weighed over gold of the draws as they are",
        "times",
        "importance weights with a smoothed tail, Vehtari et al. (2024)",
        "Nothing to enter: far from 1, read the gold with that much more doubt.",
    ),
    "draws_doubted": Assumption(
        "horizon whose draws a few weights would rule: its intervals may be too sure",
        "",
        "shape of the weights' tail above 0.7, Vehtari et al. (2024)",
        "More digs with gold in them make its bell curve a better one.",
    ),
    "nugget_share": Assumption(
        "gold in nuggets over ordinary gold, where a nugget was found",
        "",
        "our assumption; a factor of 3 either way for two grounds in three",
        "Wash more: nuggets found, and pans without any, outweigh it.",
    ),
    "cutoff_mg_m3": Assumption(
        "grade that just pays for washing",
        "mg/m3 bank",
        "our assumption; there are no price and costs in the book",
        "Enter the gold price and your costs.",
    ),
    "strip_share_of_wash": Assumption(
        "cost of moving overburden over the cost of washing pay",
        "",
        "a quarter, common practice, no source; there are no price and costs in the "
        "book",
        "Enter the gold price and your costs.",
    ),
    "min_pay_m": Assumption(
        "least thickness that is mined as pay",
        "m",
        "our assumption",
        "Say how thin a layer you still mine (min_pay_m or min_pay_ft).",
    ),
    "zone_above_contact_m": Assumption(
        "gravel above a contact that counts for it",
        "m",
        "our assumption",
        "Wash the lowest gravel apart; how rich each height is, the colors tell.",
    ),
    "zone_into_false_bedrock_m": Assumption(
        "how far into a false bedrock its zone reaches",
        "m",
        "our assumption",
        "Wash the top of the clay apart from what lies below.",
    ),
    "receiver_error_m": Assumption(
        "how far off a whole trench may lie",
        "m",
        "common practice, no source",
        "Say how far off your receiver may be (receiver_error_m or receiver_error_ft).",
    ),
    "bedrock_depth": Assumption(
        "depth of bedrock",
        "",
        "what the digs say",
        "Enter what stopped each dig, or its layers down to bedrock.",
    ),
    "bedrock_taken_for_bottom": Assumption(
        "digs whose bottom was taken for bedrock, as their neighbors met it there",
        "",
        "our assumption",
        "Enter what stopped each dig.",
    ),
    "bedrock_expected": Assumption(
        "digs that stopped short and speak for bedrock at the depth around them",
        "",
        "our assumption",
        "Dig them to bedrock, or enter what stopped them.",
    ),
    "centerline": Assumption(
        "centerline of the valley",
        "",
        "laid through the middles of the lines, our assumption",
        "Draw a centerline downstream.",
    ),
    "centerline_smoothed_over_m": Assumption(
        "length over which the centerline was smoothed",
        "m",
        "the shortest that folds nowhere over the digs, our assumption",
        "Draw the centerline with fewer wiggles.",
    ),
    "fineness_per_mille": Assumption(
        "gold in raw gold",
        "parts in 1000",
        "average of California placers, Wells (1969)",
        "Have a melt assayed and enter its fineness.",
    ),
    "people": Assumption(
        "people digging",
        "",
        "our assumption",
        "Write into the program how many you are.",
    ),
    "pans_per_zone": Assumption(
        "pans washed at each contact of a new dig",
        "",
        "our assumption",
        "Wash more where colors are few.",
    ),
    "worked_hours_per_day": Assumption(
        "hours of digging and washing in a day",
        "h",
        "8 hours on the clock over 1.6, common practice, no source",
        "Write your days down with the hours that you dug.",
    ),
    "reconcile_recovery_rel_sd": Assumption(
        "how far the plant's recovery may be off, one standard deviation",
        "",
        "ours: 6 % where you named it, 15 % where it was supplied",
        "Pan the tailings and say what share the plant keeps (recovery under [plant]).",
    ),
    "reconcile_model_rel_sd": Assumption(
        "how far the estimate as such may be off all over, one standard deviation",
        "",
        "ours",
        "Clean-ups of more cuts take its place.",
    ),
    "reconcile_survey_rel_sd": Assumption(
        "what survey and weighing add to each cut, one standard deviation",
        "",
        "ours",
        "Survey each cut before it is filled, and weigh all its gold.",
    ),
    "bulk_volume_rel_sd": Assumption(
        "how far the survey of a bulk test may be off, one standard deviation",
        "",
        "ours",
        "Dig holes with straight walls and measure them twice.",
    ),
    "bulk_recovery_rel_sd": Assumption(
        "how far what the plant keeps may be off in a bulk test",
        "",
        "ours, where its tailings are panned",
        "Pan the tailings of the test.",
    ),
    "bulk_setting_up_hours": Assumption(
        "moving to a place, setting up there and measuring its hole",
        "h",
        "our assumption",
        "Count your own hours at the first place.",
    ),
    "bulk_place_cv": Assumption(
        "how much grades differ from place to place",
        "",
        "ours: too few digs tell it",
        "Wash samples from three digs or more.",
    ),
    "clock_per_worked_hour": Assumption(
        "hours on the ground for each hour of digging and washing",
        "",
        "one published study of small suction dredging",
        "Write both kinds of hours with your days.",
    ),
    "carried_cleanups": Assumption(
        "what the ground holds over its estimate, by clean-ups",
        "",
        "your own clean-ups, laid beside their cuts",
        "Switch it off where clean-ups stand beside the estimate.",
    ),
    "hand_depth_limit_m": Assumption(
        "how deep is dug by hand; no depth is called safe",
        "m",
        "3 ft, common practice, no source",
        "Say how deep you dig by hand (hand_depth_limit_m or hand_depth_limit_ft).",
    ),
}


def find_assumption(key: str) -> tuple[Assumption | None, str]:
    """Return the words for a key, and the class or material that it speaks of.

    Parameters
    ----------
    key : str
        As an answer carries it.

    Returns
    -------
    tuple
        The words, None for a key without any; the rest of the key, often empty.

    Examples
    --------
    >>> find_assumption("color_mg_0.25-0.5")[1]
    '0.25-0.5'
    """
    if key in ASSUMPTIONS:
        return ASSUMPTIONS[key], ""
    begins = [one for one in ASSUMPTIONS if key.startswith(f"{one}_")]
    if not begins:
        return None, ""
    longest = max(begins, key=len)
    return ASSUMPTIONS[longest], key[len(longest) + 1 :]
