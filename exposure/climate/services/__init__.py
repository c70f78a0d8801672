"""Open services of weather, and how a point record is fetched from them."""
