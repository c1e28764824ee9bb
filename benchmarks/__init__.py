"""How fast things are. ``python -m benchmarks`` measures all that takes seconds, side by side in one run.

A module with ``figures()`` joins that run; one with ``main()`` is a longer measurement of its own:
``python -m benchmarks grading``. Aims are for an idle machine with two ordinary cores.
"""
