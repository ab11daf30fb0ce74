"""Small records for the tests of this room."""

from typing import Any

from pennyweight.records import Ground, Log, Sample, Tally

#: Ten pans of 6 l with 20 % swell are 50 l of ground.
GROUND = Ground(name="made ground", pan_volume_m3=0.006, swell=0.20)


def panned(name: str, colors: int | None, **seen: Any) -> tuple[Sample, list[Tally]]:
    """Return a sample of ten pans with its unsized colors; None is not washed."""
    size_class = seen.pop("size_class", "all")
    fields: dict[str, Any] = {
        "dig": "A",
        "top_m": 0.0,
        "bottom_m": 1.0,
        "pans": 10.0,
    }
    sample = Sample(sample=name, **fields | seen)
    if colors is None:
        return sample, []
    return sample, [Tally(sample=name, size_class=size_class, colors=colors)]


def log_of(*panned_samples: tuple[Sample, list[Tally]], **more: Any) -> Log:
    """Return a record of these samples."""
    fields: dict[str, Any] = {"ground": GROUND} | more
    return Log(
        samples=tuple(sample for sample, _ in panned_samples),
        tallies=tuple(one for _, tallies in panned_samples for one in tallies),
        **fields,
    )
