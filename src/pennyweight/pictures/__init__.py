"""Answers drawn as SVG for the page and for paper alike."""
