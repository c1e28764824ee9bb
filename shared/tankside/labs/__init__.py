"""Labs as data: which models and faults, what is asked, and how the marks are weighed."""

from tankside.labs.lab import PARTS, Figure, Lab, lab_ids, load_lab

__all__ = ["PARTS", "Figure", "Lab", "lab_ids", "load_lab"]
