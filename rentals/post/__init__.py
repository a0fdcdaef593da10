"""The post room, pure: wording, building a mail, the SMTP line, working days, the calendar feed."""
