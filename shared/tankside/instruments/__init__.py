"""Meters. They see terminals and a network through a small protocol, and know no heater and no fault."""
