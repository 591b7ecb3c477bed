"""Recordings in files: reading, looking before reading, and writing.

Loaded when first asked for, as the stub beside this file says: most chapters open no file, and
their kernels need no memory for it.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
