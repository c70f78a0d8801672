"""The place: ground, hills and buildings around, and the factors they put on driving rain."""
