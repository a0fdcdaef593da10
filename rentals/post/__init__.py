"""Mail to students: drafting, building, sending, reminders, and the calendar feed."""
