"""Open typefaces, outline and single-line, behind one interface: words in, placed glyphs out."""
