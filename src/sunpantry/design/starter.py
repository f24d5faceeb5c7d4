"""The document a person starts from."""

from __future__ import annotations

STARTER = """\
# A Sunpantry design: what must run, where, and with which parts.
# Lines that begin with # are remarks. A key that is left out has a sensible default, so
# this file can be as short as one place and one load. Quantities are written as people
# write them: "8 W", "100 Ah", "12 m", "1.5 kWh".

schema = 1
name = "Orchard hut"

[site]
latitude = 54.1               # degrees, north is positive
longitude = -9.2              # degrees, east is positive
# place = "Westport"          # instead of coordinates: a name to look up
# altitude = "40 m"

# --- What must run: one [[load]] for each thing -----------------------------------

[[load]]
name = "Lamp"
power = "8 W"                 # measured, or from its label
supply = "12 V"               # "5 V", "12 V", "24 V", "48 V" or "mains"
hours_per_day = 4             # in the evening from dusk, if nothing else is said
importance = "should"         # "must", "should" or "may": the least important goes first

[[load]]
name = "Fence"
power = "3 W"
supply = "12 V"
hours_per_day = 24
importance = "must"

[[load]]
name = "Phone"
energy_per_use = "15 Wh"      # so much for each charge …
uses_per_week = 7             # … and so often
power = "10 W"
from = "20:00"
supply = "5 V"
importance = "may"

# Other things a load can say:
# like = "chest freezer"      # start from an ordinary one; `sunpantry loads` lists them
# quantity = 2
# from = "dusk"               # a window: "07:30", "dusk", "dawn", "dawn-0:30"
# until = "23:00"
# months = "Nov-Feb"          # or [11, 12, 1, 2]
# weekdays = ["sat", "sun"]
# duty = "35 %"               # share of the time it really draws its power
# surge = "600 W"             # highest draw as it starts
# standby = "1 W"             # what it draws while it does nothing
# can_wait = { days = 3, rule = "battery above 80 %" }
# bursts = { per_night = 8, minutes = 2 }

# --- With what: leave it out and the parts are chosen for you ---------------------

# bank_voltage = "12 V" stands at the top of the file, above [site]

# [[array]]
# part = "…"                  # a name from the list: `sunpantry parts` shows it
# count = 2
# owned = true                # already there, costs nothing
# tilt = "best"               # for the promise; or "60°", "best for the year", "best for the
#                             # darkest month"; or tilt_winter = "70°" and tilt_summer = "30°"
# azimuth = "south"           # or "best", or degrees from north: 180

# [battery]                   # or describe your own by the figures on its label
# chemistry = "agm"
# nominal = "12 V"
# capacity = "100 Ah"
# count = 1
# owned = true

# --- The promise: hours without power in a year that you can live with ------------

# [promise]
# must = "0 h"
# should = "24 h"
# may = "200 h"

# [money]
# currency = "EUR"
# years = 15

# [wiring.runs]               # how far apart things are, one way
# array = "10 m"
# Lamp = "8 m"
"""


def starter_text() -> str:
    """Return a commented document to start from.

    Returns
    -------
    str
        TOML that is valid as it stands.
    """
    return STARTER
