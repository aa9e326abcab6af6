"""Files of a week: SVG, pictures, pages and tables. The only stage that writes, and every write is atomic."""
