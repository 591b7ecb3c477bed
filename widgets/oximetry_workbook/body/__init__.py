"""From blood to light at the detector: makes a recording."""
