"""What billing puts on paper."""
