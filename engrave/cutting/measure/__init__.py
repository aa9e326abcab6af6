"""What is measured of letters whatever the tool: narrow strokes, webs, counters and crotches, with their places."""
