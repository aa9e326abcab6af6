"""Can this tool make this lettering in this wood, where not, and what will really be left."""
