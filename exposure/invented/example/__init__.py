"""Files to start one's own from: a house, its openings, an office's rule, several houses. Invented, written for this project."""
