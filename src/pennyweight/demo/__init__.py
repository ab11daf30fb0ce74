"""Invented ground with streaks of known place, to learn on and to test with."""
