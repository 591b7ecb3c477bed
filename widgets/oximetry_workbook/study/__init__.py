"""Many readings against the truth: how well a meter agrees with blood samples."""
