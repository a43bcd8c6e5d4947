"""The setup of each method, drawn: a module a method, by its prefix, with a class `Setup`."""
