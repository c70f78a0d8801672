"""One module a format, all giving the same hourly Dataset; ``register`` lists them."""
