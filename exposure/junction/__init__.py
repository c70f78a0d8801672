"""Junctions of the wall as sections in millimetres, made from the schedule's numbers, and the proofs that they work."""
