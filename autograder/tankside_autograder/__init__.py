"""Tankside, the instructor's side: hand out, gather, mark, explain, report."""
