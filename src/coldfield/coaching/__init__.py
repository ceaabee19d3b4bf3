"""What a group's own runs show: its constants, its progress, what to practise next, and a drill for it."""
