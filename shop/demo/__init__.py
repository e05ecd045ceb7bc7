"""The invented shop that Pullpin shows itself with. No person, make, model or place is real."""
