"""Terminal and web page: they show the state and compute nothing."""
