"""Routes, odometers and miles: pure functions on plain values."""
