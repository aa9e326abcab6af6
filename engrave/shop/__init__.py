"""The shop's tables: lids, cutters, machines, woods, recipes, rates and settings, read, merged and checked."""
