"""Maps of a region and of a place; they ask no server."""
