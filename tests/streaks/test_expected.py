"""Bedrock expected where a dig stopped just short of it."""

import numpy as np

from pennyweight.streaks.contacts import BEDROCK, Column, Contact
from pennyweight.streaks.expected import LEAST_MET, expect_bedrock
from pennyweight.streaks.sites import Place, arrange_sites


def column(dig: str, bottom_m: float, *, met: bool) -> Column:
    contacts = (Contact(horizon=BEDROCK, depth_m=bottom_m),) if met else ()
    return Column(dig=dig, contacts=contacts, barren_bases_m=(), bottom_m=bottom_m)


def expected(
    bottom_m: float, n_met: int = 6, depth_m: float = 1.2
) -> tuple[Contact, ...]:
    names = [f"d{at}" for at in range(n_met)] + ["short"]
    sites = arrange_sites(
        [
            Place(dig=name, line="1", s_m=0.0, n_m=2.0 * at)
            for at, name in enumerate(names)
        ]
    )
    columns = {
        name: column(name, depth_m + 0.02 * (at % 2), met=True)
        for at, name in enumerate(names[:-1])
    }
    columns["short"] = column("short", bottom_m, met=False)
    return expect_bedrock(columns, sites, rng=np.random.default_rng(1))[
        "short"
    ].contacts


def test_a_dig_that_stopped_just_short_speaks_for_bedrock() -> None:
    (contact,) = expected(1.0)
    assert contact.horizon == BEDROCK
    assert 1.0 <= contact.depth_m < 1.4
    assert contact.sd_m > 0.0


def test_a_dig_that_stopped_far_above_does_not() -> None:
    assert expected(0.4) == ()


def test_few_depths_lead_to_no_expectation() -> None:
    assert expected(1.0, n_met=LEAST_MET - 1) == ()


def test_an_expected_depth_is_not_one_that_was_met() -> None:
    made = Column(
        dig="a",
        contacts=(Contact(horizon=BEDROCK, depth_m=1.1, sd_m=0.1),),
        barren_bases_m=(),
        bottom_m=1.0,
    )
    assert made.depth_of(BEDROCK) is None
