"""Reading a session back: state and transcript rebuilt from the journal alone."""
