"""The orders table, from whatever file a shop has, and the buyer's words made safe without being changed silently."""
