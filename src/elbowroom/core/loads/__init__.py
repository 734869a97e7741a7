"""What the throwing arm bears: joint moments and forces by inverse dynamics, with their spread."""
