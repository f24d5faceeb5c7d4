"""The sky: a place, its climate, years of weather, and the light on a panel."""
