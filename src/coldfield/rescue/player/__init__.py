"""The searcher model in plain Python, one event after another; the door is `coldfield.rescue.player.play`."""
