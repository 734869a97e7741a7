"""What this machine has: Python, cores, memory, disk room, decoders."""
