"""The fault catalogue: what can fail, what it changes in a heater's parts, and which repair cures it."""
