"""The joint file as frozen models: what may stand in it, and what contradicts itself."""
