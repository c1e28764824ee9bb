"""What a worker process has loaded before its first hand-in: importing this module is the preparation.

Where worker processes are made as copies of a server process, the server loads it once for all of them.
"""

from tankside.faults.catalogue import faults
from tankside.labs import lab_ids, load_lab
from tankside.scoring import score
from tankside_autograder.mark_one import mark_one

__all__ = ["mark_one", "score"]

faults()
for _lab in lab_ids():
    load_lab(_lab)
