"""What a group's own runs tell: its constants, its progress, what to practise next, the drill for it."""
