"""What stock puts on paper."""
