"""Climate in: whatever the source, one hourly Dataset (:func:`exposure.climate.opening.open_climate`)."""
