"""A site whose loading comes to no end; it leaves a file to say that it has begun."""

import os
import threading
from pathlib import Path

Path(os.environ["LOADING"]).touch()
threading.Event().wait()
