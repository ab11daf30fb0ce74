"""A blurred record holds no place, no name and no key to either."""

from dataclasses import replace
from typing import Any

import numpy as np
import numpy.testing as npt
import pytest

from pennyweight.answers.reading import Reading
from pennyweight.handing.blurring import blur_log
from pennyweight.records import Dig, Ground, Layer, Log, Rock, Weighing

CENTIMETER = 0.01
SECRETS = ("Hidden", "Secretsmith", "Nowhereville", "2026-07", "9QX", "Zzyx")


def places(log: Log) -> Any:
    return np.array([(dig.easting_m, dig.northing_m) for dig in log.digs], dtype=float)


def test_no_name_date_person_or_note_remains(reading: Reading) -> None:
    text = repr(blur_log(reading.log))
    assert [secret for secret in SECRETS if secret in text] == []


def test_distances_remain_to_the_centimeter(reading: Reading) -> None:
    true, blurred = places(reading.log), places(blur_log(reading.log))
    npt.assert_allclose(
        np.hypot(*(blurred - blurred[0]).T),
        np.hypot(*(true - true[0]).T),
        atol=2 * CENTIMETER,
    )


def test_left_stays_left_of_downstream(reading: Reading) -> None:
    """A turn keeps the sense of three places; a mirror would not."""
    true, blurred = places(reading.log), places(blur_log(reading.log))

    def sense(found: Any) -> float:
        first, second = found[1] - found[0], found[5] - found[0]
        return float(first[0] * second[1] - first[1] * second[0])

    assert sense(true) * sense(blurred) > 0.0


def test_the_digs_lie_in_a_corner_of_their_own(reading: Reading) -> None:
    blurred = blur_log(reading.log)
    east = [dig.easting_m for dig in blurred.digs] + [blurred.rocks[1].easting_m]
    assert min(one for one in east if one is not None) == 0.0
    assert blurred.ground.crs is None


def test_a_given_turn_can_be_redone_by_hand() -> None:
    """A quarter turn takes a dig 10 m east of another to 10 m north of it."""
    log = Log(
        digs=(
            Dig(dig="A", easting_m=500.0, northing_m=700.0),
            Dig(dig="B", easting_m=510.0, northing_m=700.0),
        )
    )
    first, second = blur_log(log, 90.0).digs
    assert (first.easting_m, first.northing_m) == (0.0, 0.0)
    assert (second.easting_m, second.northing_m) == (0.0, 10.0)


def test_every_blur_turns_another_way(reading: Reading) -> None:
    found = {blur_log(reading.log).digs[-1].easting_m for _ in range(5)}
    assert len(found) > 1


def test_heights_count_from_the_lowest(reading: Reading) -> None:
    heights = {dig.elevation_m for dig in blur_log(reading.log).digs}
    assert heights == {0.0, 0.3, 0.6}


def test_bearings_and_tapes_are_left_out(reading: Reading) -> None:
    blurred = blur_log(reading.log)
    dig, rock = blurred.digs[0], blurred.rocks[0]
    assert (dig.bearing_deg, dig.peg, rock.strike_deg) == (None, None, None)
    assert dig.typed == {}


def test_what_grades_need_remains(reading: Reading) -> None:
    blurred = blur_log(reading.log)
    assert blurred.ground == Ground(swell=0.2)
    assert [one.colors for one in blurred.tallies][:4] == [0, 60, 45, 1]
    sample = blurred.samples[1]
    assert (sample.sample, sample.dig, sample.pans) == ("S2", "D2", 10.0)
    assert (sample.taken, sample.method) == ("channel", "pan")
    assert blurred.digs[0].line == "L1"
    assert blurred.weighings[0].samples == ("S1", "S2")
    assert blurred.weighings[0].weighing == "W1"


def test_plain_words_about_gravel_remain_and_others_go(reading: Reading) -> None:
    layer = blur_log(reading.log).layers[0]
    assert (layer.material, layer.base) == ("sandy gravel", None)
    first, second = blur_log(reading.log).grains
    assert (first.roundness, first.rim, second.attached) == ("0.4", None, "iron")


def test_drawings_files_days_and_money_are_left_out(reading: Reading) -> None:
    blurred = blur_log(reading.log)
    assert (blurred.features, blurred.waypoints, blurred.attachments) == ((), (), ())
    assert (blurred.days, blurred.ground.costs) == ((), {})
    assert blurred.cleanups[0].cleanup == "C1"
    assert blurred.cleanups[0].area is None


def test_the_true_record_is_left_as_it_is(reading: Reading) -> None:
    before = repr(reading.log)
    blur_log(reading.log)
    assert repr(reading.log) == before


@pytest.mark.parametrize("where", [None, 5.0])
def test_digs_without_a_place_stay_without(where: float | None) -> None:
    log = Log(digs=(Dig(dig="A", easting_m=where, elevation_m=4.0),))
    (dig,) = blur_log(log).digs
    assert (dig.easting_m, dig.northing_m) == (None, None)


def test_references_to_nothing_are_dropped() -> None:
    log = Log(
        layers=(Layer(dig="gone", top_m=0.0, bottom_m=1.0),),
        weighings=(Weighing(weighing="W", samples=("gone",), weighed_mg=1.0),),
        rocks=(Rock(number=1, dig="gone", easting_m=1.0, northing_m=2.0),),
    )
    blurred = blur_log(log)
    assert (blurred.layers, blurred.weighings) == ((), ())
    assert blurred.rocks[0].dig is None


def test_duplicates_keep_their_first(reading: Reading) -> None:
    samples = list(reading.log.samples)
    samples[1] = replace(samples[1], duplicate_of=samples[0].sample)
    blurred = blur_log(replace(reading.log, samples=tuple(samples)))
    assert blurred.samples[1].duplicate_of == "S1"
