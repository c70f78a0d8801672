"""Climate grids: opened and joined, checked, and turned into clean hours."""
