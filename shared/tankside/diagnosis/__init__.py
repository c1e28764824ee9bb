"""What could still be wrong after these readings, and the proof that a work order can be solved."""
