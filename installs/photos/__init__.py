"""Photos: made harmless and small on the way in (`prepare`), drawn on (`marks`), kept (`store`)."""
