"""Every picture of the invented creek, by name, in each look."""

from collections.abc import Callable

from pennyweight.pictures.cashcurve import draw_cash_curve
from pennyweight.pictures.charts import draw_gold_chart, draw_margin_chart
from pennyweight.pictures.diarychart import draw_diary
from pennyweight.pictures.digwall import draw_dig_wall
from pennyweight.pictures.fence import draw_fence
from pennyweight.pictures.gradecharts import draw_cumulative_chart, draw_grades_chart
from pennyweight.pictures.longsection import draw_long_section
from pennyweight.pictures.plan import draw_plan
from pennyweight.pictures.pricemap import draw_price_map
from pennyweight.pictures.svg import Look
from pennyweight.pictures.swings import draw_swings
from pennyweight.pictures.valleystrip import draw_valley_strip
from pennyweight.pictures.wall import draw_wall
from pennyweight.units import FEET_AND_YARDS
from tests.pictures import made_answers as made

LOOKS = {
    "wide": Look(width_px=1280),
    "phone": Look(width_px=390),
    "night": Look(width_px=900, night=True),
    "paper": Look(width_px=760, paper=True, measures=FEET_AND_YARDS),
}

PICTURES: dict[str, Callable[[Look], str]] = {
    "plan": lambda look: draw_plan(
        made.ground(),
        look,
        grade=made.grade(),
        trace=made.trace(),
        worth=made.worth(),
        nextdigs=made.nextdigs(),
    ),
    "plan-bare": lambda look: draw_plan(made.ground(terrain=False), look),
    "wall-3": lambda look: draw_wall(
        made.ground(), made.grade(), "3", look=look, trace=made.trace()
    ),
    "wall-7": lambda look: draw_wall(made.ground(), made.grade(), "7", look=look),
    "dig-4E": lambda look: draw_dig_wall(made.ground(), made.grade(), "4E", look=look),
    "fence": lambda look: draw_fence(
        made.ground(), made.grade(), look=look, trace=made.trace()
    ),
    "valleystrip": lambda look: draw_valley_strip(
        made.ground(), made.trace(), look=look, grade=made.grade()
    ),
    "longsection": lambda look: draw_long_section(
        made.ground(), look=look, trace=made.trace()
    ),
    "gold": lambda look: draw_gold_chart(made.trace(), look),
    "cash": lambda look: draw_cash_curve(made.worth(), look),
    "prices": lambda look: draw_price_map(made.worth(), look),
    "swings": lambda look: draw_swings(made.worth(), look),
    "margin": lambda look: draw_margin_chart(made.worth(losing=True), look),
    "grades": lambda look: draw_grades_chart(
        made.grade(), look, cutoff_mg_m3=made.CUTOFF_MG_M3
    ),
    "diary": lambda look: draw_diary(made.diary(), look),
    "sum": lambda look: draw_cumulative_chart(made.grade(), look),
}
