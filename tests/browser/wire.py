"""A wire between a phone and the book that can be cut, mended, and made to swallow answers."""

import socket
from contextlib import suppress
from threading import Thread

PIECE = 65_536


class Wire:
    """Carries what is said to a port of this machine from a port of its own."""

    def __init__(self, port):
        self.far, self.ends = port, []
        self.swallows_answers = False
        self.answered = 0  # bytes, headers and all
        self.port = 0
        self.listener = None
        self.mend()

    def mend(self):
        """Listen, on the same port as before."""
        self.listener = socket.create_server(("127.0.0.1", self.port), reuse_port=True)
        self.port = self.listener.getsockname()[1]
        Thread(target=self.listen, args=[self.listener], daemon=True).start()

    def cut(self):
        """Refuse whoever calls, as a server does that is gone."""
        # The thread sits in accept(); closing alone would not wake it.
        with suppress(OSError):
            self.listener.shutdown(socket.SHUT_RDWR)
        self.listener.close()
        for end in self.ends:
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()
        self.ends.clear()

    def listen(self, listener):
        """Connect whoever calls."""
        with suppress(OSError):
            while True:
                near, _address = listener.accept()
                self.connect(near)

    def connect(self, near):
        """Carry what one caller says, and what comes back."""
        far = socket.create_connection(("127.0.0.1", self.far))
        self.ends += [near, far]
        Thread(target=self.carry, args=[near, far, False], daemon=True).start()
        Thread(target=self.carry, args=[far, near, True], daemon=True).start()

    def carry(self, whence, whither, is_answer):
        """Carry one way until either end is gone."""
        with suppress(OSError):
            while piece := whence.recv(PIECE):
                self.answered += len(piece) if is_answer else 0
                if not (is_answer and self.swallows_answers):
                    whither.sendall(piece)
            whither.shutdown(socket.SHUT_WR)
