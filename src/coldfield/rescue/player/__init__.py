"""The searcher model in plain Python, event by event; `coldfield.rescue.player.play` is the way in."""
