"""Files of invented buildings, as examples to start one's own from."""
