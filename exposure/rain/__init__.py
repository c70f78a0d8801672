"""Hourly wind and rain turned into rain on a wall: indices, spells, pressures, seasons, uncertainty."""
