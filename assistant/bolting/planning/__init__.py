"""From a joint file to its plan: figures, limits, remarks, reasons, load budget, other methods."""
