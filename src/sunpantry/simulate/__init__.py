"""System, sky and demand compiled into arrays, run hour by hour, summed up as a proof."""
