"""A zero in one size class is no zero in the others, and an open class no nugget."""

from pennyweight.records import Dig, Ground, Log, Sample, Tally
from pennyweight.sampling.grade import grade_samples
from pennyweight.sampling.graded import GradedSample

DIG = Dig(dig="A", bottom_m=2.0)
GROUND = Ground(pan_volume_m3=0.008, swell=0.25)


def graded(*tallies: Tally, **weighed_mg: float) -> dict[str, GradedSample]:
    """Return the samples of the tallies, four pans each."""
    names = sorted({one.sample for one in tallies} | set(weighed_mg))
    samples = tuple(
        Sample(sample=n, dig="A", pans=4, weighed_mg=weighed_mg.get(n)) for n in names
    )
    log = Log(ground=GROUND, digs=(DIG,), samples=samples, tallies=tallies)
    return {one.sample: one for one in grade_samples(log).samples}


def none_of(sample: str, *classes: str) -> list[Tally]:
    """Return tallies of no color."""
    return [Tally(sample=sample, size_class=one, colors=0) for one in classes]


def p90(sample: GradedSample) -> float:
    """Return the upper end of a grade [mg/m3]."""
    assert sample.grade_mg_m3 is not None
    return sample.grade_mg_m3.p90


def test_no_coarse_color_leaves_the_finer_gold_unknown() -> None:
    found = graded(*none_of("all", "all"), *none_of("coarse", ">2"))
    assert p90(found["coarse"]) > 3.0 * p90(found["all"])
    assert "No color in >2, and no other size was looked at" in found["coarse"].why


def test_all_sieves_listed_with_zero_is_a_zero_of_all() -> None:
    sieves = ("<0.25", "0.25-0.5", "0.5-1", "1-2", ">2")
    found = graded(*none_of("whole", "all"), *none_of("sieved", *sieves))
    assert p90(found["sieved"]) < 1.1 * p90(found["whole"])
    assert found["sieved"].why.startswith("No color: its grade has an upper limit")


def test_the_finer_colors_beside_a_nugget_keep_their_grade() -> None:
    """The class below 4 is open downward: its colors are no nuggets."""
    found = graded(
        Tally(sample="a", size_class=">4", colors=1, mg=31_000.0),
        Tally(sample="a", size_class="<4", colors=9),
        Tally(sample="b", size_class="all", colors=3),
        a=31_103.0,
    )
    assert found["a"].grade_mg_m3 is not None
    assert found["a"].colors == 9.0
    assert found["a"].grade_mg_m3.p50 > 1000.0


def test_a_sample_that_was_only_weighed_was_not_counted() -> None:
    found = graded(*none_of("b", "all"), a=10.0)
    assert (found["a"].counted, found["b"].counted) == (False, True)
