"""Placer gold sampling, pay streaks and mining decisions, kept on your own machine."""

__version__ = "0.1.0"
