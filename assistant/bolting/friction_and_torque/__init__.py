"""From torque to preload and back: friction, nut factors, scatter, what a bolt may bear while it is twisted."""
