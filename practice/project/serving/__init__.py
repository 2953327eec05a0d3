"""How phones and other machines reach the book: over https, never over plain http."""
