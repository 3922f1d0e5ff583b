"""Edges: microphones, speakers, voice activity, recogniser engines."""
