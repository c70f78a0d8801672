"""Tables and layers for other programs: CSV, GeoPackage, JSON."""
