"""What the cutting check says: which letter is meant, what is wrong there, and what would help."""
