"""The one loop that joins microphone, listeners, procedure, journal and speaker; and the rehearsal."""
