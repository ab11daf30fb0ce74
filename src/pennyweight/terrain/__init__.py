"""The shape of the ground: elevation, streams, profile."""
