"""Laws of nature and of the trade, each with its units, valid range and source. Knows no heater.

Public functions take and return pint quantities and refuse what lies outside their range with a
``ValueError``. A name that ends in ``_si`` is the same law on plain floats or NumPy arrays in SI
units (kelvin, pascal, watt, second …), unchecked, for use inside a simulation.
"""
