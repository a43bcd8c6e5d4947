"""Pure functions of the trade, for a number or an array: arcs, cutting, minutes, gauging, the work in the lathe, the five methods."""
