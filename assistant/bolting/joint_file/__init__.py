"""The joint file as frozen models: what it may hold, and what contradicts itself."""
