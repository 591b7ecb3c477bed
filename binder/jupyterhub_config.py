"""A JupyterHub on this machine alone, to see the workbook behind a hub's proxy and prefix.

    OXIMETRY_CLASS_CODE='eight or more' jupyterhub -f binder/jupyterhub_config.py

It needs the extra `local-hub`, and `configurable-http-proxy` from npm. For trying out only: all
learners' servers run as one user of this machine and can read one another's files. A course wants
a server in a container for each learner, as hub-values.yaml describes.
"""

import os
import sys
from pathlib import Path

SHORTEST_CODE = 8
"""JupyterHub takes no shorter shared password."""

c = get_config()  # noqa: F821 (JupyterHub puts it here)

code = os.environ.get("OXIMETRY_CLASS_CODE", "")
if len(code) < SHORTEST_CODE:
    sys.exit(f"Set OXIMETRY_CLASS_CODE to a class code of {SHORTEST_CODE} characters or more.")

c.JupyterHub.bind_url = "http://127.0.0.1:8000"
c.JupyterHub.authenticator_class = "shared-password"
c.SharedPasswordAuthenticator.user_password = code
# Whoever has the code may choose any name.
c.Authenticator.allow_all = True

c.JupyterHub.spawner_class = "simple"
c.SimpleLocalProcessSpawner.home_dir_template = str(Path.cwd() / "learners" / "{username}")
c.Spawner.cmd = [sys.executable, "-m", "jupyterhub.singleuser"]
c.Spawner.default_url = "/oximetry/"
# A busy machine starts servers slowly.
c.Spawner.start_timeout = c.Spawner.http_timeout = 120
if hasattr(os, "geteuid") and os.geteuid() == 0:
    # In a container the user often is root; Jupyter Server wants that said.
    c.Spawner.args = ["--allow-root"]
