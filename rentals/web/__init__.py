"""What every view of both apps shares: a form's page, carrying out an action, page or part, finding
a thing.
"""
