"""The page: the command's answers in a browser, served from this machine to this machine."""
