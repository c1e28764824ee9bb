"""What lessons show beside their text: drawings, and the bench work behind every number."""
