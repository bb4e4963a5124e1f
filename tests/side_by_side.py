"""How do several groups of tests run at once and still read as if they ran one after the other?

Each writes into a file. The first that has not ended is shown as it goes; what the others say
meanwhile stands below it, whole, once it has ended. Standard library only.
"""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

LOOK_EVERY_S = 0.2


class SideBySide:
    """Threads, one to a group, and the file each writes into."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.running: list[tuple[Path, threading.Thread]] = []
        self.broke: list[BaseException] = []

    def start(self, name: str, run: Callable[[Path], None]) -> None:
        """Begin a group; it gets the path of the file to write into."""
        words = self.folder / f"{name}.out"
        words.touch()

        def run_and_keep() -> None:
            try:
                run(words)
            except BaseException as error:  # told by `show`, in the thread that can end the run
                self.broke.append(error)

        thread = threading.Thread(target=run_and_keep, name=name)
        thread.start()
        self.running.append((words, thread))

    def show(self) -> None:
        """Copy what the groups write to our own output, in the order in which they were begun.

        Raises
        ------
        BaseException
            What a group's own function raised, once all groups have ended.
        """
        for words, thread in self.running:
            with words.open("rb") as said:
                while True:
                    is_over = not thread.is_alive()  # asked first: then nothing is left unread
                    if text := said.read():
                        sys.stdout.buffer.write(text)
                        sys.stdout.buffer.flush()
                    elif is_over:
                        break
                    else:
                        time.sleep(LOOK_EVERY_S)
        if self.broke:
            raise self.broke[0]

    def wait(self) -> None:
        """Until every thread has ended, whatever it does on its way out."""
        for _words, thread in self.running:
            thread.join()
