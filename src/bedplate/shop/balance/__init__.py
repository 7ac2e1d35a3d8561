"""Balance: weights, bob-weights, what the engine shakes with, and what is still to be balanced."""
