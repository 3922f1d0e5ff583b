"""What comes of a joint file: figures, limits, remarks, reasons, load budget, other methods, the plan."""
