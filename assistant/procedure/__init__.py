"""The procedure as tables: decide, evolve, effects, and the acceptance rule. Pure."""
