"""Bolting engineering: pure functions with units, each formula with its source."""
