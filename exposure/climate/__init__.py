"""Climate in: whatever the source, one hourly Dataset."""
