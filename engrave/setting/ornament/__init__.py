"""What is set with the words and is none: ornaments as lines of their own, frames along the outline, rings of initials."""
