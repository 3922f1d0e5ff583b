"""Offline, hands-free spoken assistant that guides a bolt-tightening sequence and keeps its record."""

__version__ = "0.1.0"
