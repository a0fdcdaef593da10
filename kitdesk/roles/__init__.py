"""Who may do what at this desk: four roles, one table of rules, and what holds it everywhere."""
