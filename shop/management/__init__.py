"""Commands, and what they need before and around Django."""
