"""Where photographs lie while a worker reads them: a folder of this server's own, gone with it."""

import atexit

from scribeline.web.uploads import Incoming

INCOMING = Incoming()
atexit.register(INCOMING.close)
