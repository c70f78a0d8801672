"""A whole climate grid end to end: read, compute, resume, write."""
