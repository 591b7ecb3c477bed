"""What the blood carries: from the pressure of oxygen to saturation and content."""
