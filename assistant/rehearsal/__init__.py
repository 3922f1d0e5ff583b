"""Work that is played: a simulated technician speaks a joint, a person practises on one, or learns to be heard."""
