"""Pictures of weather, walls, places and results: data in and SVG text out; nothing here computes rain."""
