"""Intervals hold the truth as often as they say, on made grounds (small version)."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from scipy import stats

from pennyweight.sampling.posterior import exact_limits

STUDIES = Path(__file__).resolve().parents[2] / "studies"


def load(name: str) -> ModuleType:
    """Import a file of the studies' folder by its path."""
    spec = importlib.util.spec_from_file_location(name, STUDIES / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def study() -> ModuleType:
    load("panned_grounds")
    return load("study_sampling")


@pytest.mark.law
def test_grades_from_the_stated_prior_lie_in_their_intervals(study: ModuleType) -> None:
    """1,000 samples on 100 grounds: 0.80 within three standard errors of 0.013."""
    found = study.try_prior(np.random.default_rng(20300501), "counted", 10, 100)
    assert found.samples == 1000
    assert found.held == pytest.approx(0.80, abs=0.05)
    assert found.below == pytest.approx(0.10, abs=0.05)


@pytest.mark.law
def test_at_one_grade_with_many_colors_intervals_hold(study: ModuleType) -> None:
    """400 samples of 50 expected colors on 100 grounds."""
    found = study.try_fixed(np.random.default_rng(20300502), 50.0, 4, 100)
    assert found.held == pytest.approx(0.80, abs=0.10)


@pytest.mark.law
@pytest.mark.parametrize("expected", [0.3, 1.0, 2.3, 5.0, 12.0, 40.0, 150.0])
def test_exact_limits_hold_at_every_grade(expected: float) -> None:
    """Summed over all counts, not drawn: never below 0.80."""
    colors = np.arange(600)
    lower, upper = exact_limits(colors, 0.80)
    inside = (lower <= expected) & (expected <= upper)
    assert stats.poisson.pmf(colors, expected)[inside].sum() >= 0.80
