"""From a recording to the number shown: reads what a sensor brought home."""
