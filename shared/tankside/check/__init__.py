"""``python3 run.py check``: prove that the data files for models, faults and labs hold together.

For whoever adds a heater model, a fault or a lab: nothing here needs Python. The first thing
wrong is one line with file, key, what was expected and what was found; exit code 1.
"""
