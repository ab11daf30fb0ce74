"""Pay streaks: horizons, the grade field, draws of it, ribbons and merges."""
