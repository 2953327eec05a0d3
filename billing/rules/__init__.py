"""Prices, tax, settlements, mileage rates: pure functions on plain values."""
