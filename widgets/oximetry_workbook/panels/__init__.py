"""What is seen: widgets and plots, drawn from results that the layers below reckon.

A panel is loaded when it is first asked for, as the stub beside this file says, so that a
learner's kernel takes no memory for the other chapters' panels. Where a panel's function and its
module share a name, the function is what the package shows.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
