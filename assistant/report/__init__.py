"""What people read: plan tables, transcripts, sheets."""
