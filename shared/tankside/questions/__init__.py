"""Self-check questions: each draws its own numbers and computes its own answer."""
