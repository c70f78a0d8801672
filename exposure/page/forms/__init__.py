"""Forms: each asks for a part of the choices and writes it."""
