"""What a cut would pay: blocks, washing plants, seasons and risk."""
