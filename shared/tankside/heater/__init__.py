"""What a heater is: its parts, terminals, wiring and controls, as data files; and one unit in time."""
