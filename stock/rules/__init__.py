"""Costs and plans of the shelf: pure functions on plain values."""
