"""The command line; the only place that joins ports and devices and catches AssistantError."""
