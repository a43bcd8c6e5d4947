"""Minutes on the water and on the road."""

from advisor.formulas import numeric


def duration(*, distance, speed, slack=1.0):
    """Time for a distance [min]. distance [m]; speed [m/min]; slack: factor on the time."""
    return numeric.divide(distance, speed) * slack


def wait(*, departures, time_of_day):
    """Minutes until the next departure [min]; not a number after the last one."""
    return numeric.next_above(departures, time_of_day) - time_of_day


def drift(*, wind, minutes, sheltered):
    """How far the wind drives a boat off its line [m]."""
    return numeric.where(sheltered, 0.0, 0.02 * wind * minutes)


def in_group(*, party):
    """Whether a party is a group [truth]."""
    return party >= 8
