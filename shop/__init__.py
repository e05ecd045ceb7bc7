"""The business around the vehicles: people, reminders, mail, and every screen."""
