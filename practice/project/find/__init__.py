"""Finding anything by one word: names, phone numbers and the numbers of papers."""
