"""Understanding and wording of torque talk: grammar, numbers, endpointing, beam search. Pure."""
