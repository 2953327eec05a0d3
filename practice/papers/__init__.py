"""What the practice puts on paper."""
