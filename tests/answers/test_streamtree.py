"""The stream tree of a ground, with an elevation model and without one."""

from dataclasses import replace

import numpy as np
import pytest

from pennyweight.answers.streamtree import stream_tree
from pennyweight.records import Log
from tests.answers.made_creek import drawn, line_m, made_log, read


def test_the_creek_of_the_model_runs_where_it_was_drawn() -> None:
    tree = stream_tree(read(made_log()))
    assert tree.creek is not None
    off = tree.creek.northing_m - 5_400_000.0 - line_m(tree.creek.easting_m - 500_000.0)
    assert np.median(np.abs(off)) < 3.0
    assert tree.creek.distance_m[-1] > 170.0
    assert {tree.streams.name[r] for r in tree.reaches} == {"Made Creek"}
    assert tree.assumptions["stream_head_m2"] > 0.0
    assert tree.above_m is not None
    assert np.nanmin(tree.above_m) >= -1e-6


def test_the_fall_is_that_of_the_valley() -> None:
    creek = stream_tree(read(made_log())).creek
    assert creek is not None
    assert np.nanmedian(creek.slope) == pytest.approx(0.018, abs=0.004)


def test_without_a_model_the_drawn_line_and_the_levels_of_the_digs_serve() -> None:
    """The digs on the line stand 2 m lower in 100 m."""
    tree = stream_tree(read(made_log(surface=False)))
    assert tree.routing is None
    assert tree.creek is not None
    known = np.isfinite(tree.creek.elevation_m)
    assert known.any()
    assert np.nanmedian(tree.creek.slope[known]) == pytest.approx(0.018, abs=0.005)


def test_a_feeder_keeps_its_name_and_a_rill_does_not_take_the_creeks() -> None:
    log = made_log()
    feeder = replace(drawn("tributary", "Side", (90.0, 78.0), (92.0, 46.0)), number=2)
    tree = stream_tree(read(replace(log, features=(*log.features, feeder))))
    own = set(tree.reaches.tolist())
    names = {name for r, name in enumerate(tree.streams.name) if r not in own and name}
    assert names <= {"Side"}


def test_a_ground_with_nothing_has_no_creek() -> None:
    tree = stream_tree(read(Log()))
    assert tree.creek is None
    assert tree.streams.n_reaches == 0
