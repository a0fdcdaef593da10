"""What every view of both apps shares: carrying out an action, finding a thing, page or part."""
