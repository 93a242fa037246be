"""Owns printing page after page: by a browser that stays open, or by WeasyPrint without one."""

import base64
import json
import os
import select
import signal
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from analysis.render.page import (
    BROWSER_SETTING,
    PageError,
    browser_flags,
    find_browser,
    to_pdf,
)
from analysis.render.scratch import scratch_folder

_SECONDS = 120.0
"""A page that takes longer to load and print has failed."""
_FAREWELL_S = 5.0
"""A browser told to close that has not by then is killed."""
_FIRST_FREE = 10
"""Descriptors from here on cannot clash with the two numbers that the browser reads and writes."""


class Printing:
    """Prints as `analysis.render.page.to_pdf` does, but keeps the browser for the next page.

    To be used by one thread.
    """

    def __init__(self) -> None:
        self._browser: Browser | None = None

    def __enter__(self) -> Self:
        """Start the browser, if there is one; what is wrong with it shows when it is to print."""
        try:
            path = find_browser()
            # Windows hands no descriptors to a program it starts: there, to_pdf starts it anew.
            if path is not None and hasattr(os, "posix_spawnp"):
                self._browser = Browser(path)
                self._browser.start()
        except PageError:
            self._browser = None  # to_pdf meets, and tells, the same
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Stop the browser."""
        if self._browser is not None:
            self._browser.stop()

    def print(self, page: Path, target: Path) -> None:
        """Print a page as a PDF.

        Raises
        ------
        PageError
            As `analysis.render.page.to_pdf`.
        """
        if self._browser is None:
            to_pdf(page, target)
        else:
            self._browser.print(page, target)


class Browser:
    """A headless Chromium spoken to over a pipe, by its DevTools protocol.

    A pipe, unlike a port, is open to this process alone. To be used by one thread.

    Parameters
    ----------
    path : str
        From `analysis.render.page.find_browser`.
    """

    def __init__(self, path: str) -> None:
        self._path = path
        self._pid: int | None = None
        self._profile = ExitStack()
        self._number = 0
        self._rest = b""

    def print(self, page: Path, target: Path) -> None:
        """Print a page as a PDF.

        Parameters
        ----------
        page : Path
            The HTML file.
        target : Path
            The PDF to write.

        Raises
        ------
        PageError
            When the browser does not answer, or says that it cannot; it is stopped then, and the
            next page starts another.
        """
        self.start()
        try:
            data = self._printed(page.resolve().as_uri())
        except (OSError, ValueError, KeyError) as error:
            self.stop()
            raise self._unable(error) from error
        target.write_bytes(data)

    def _unable(self, error: Exception) -> PageError:
        return PageError(
            f"{self._path} could not print the page: {error}. Remedy: set {BROWSER_SETTING}=none "
            "to print with WeasyPrint instead."
        )

    def stop(self) -> None:
        """Stop the browser, if it runs, and remove its profile."""
        pid, self._pid = self._pid, None
        if pid is not None:
            os.close(self._to)  # at which it closes by itself
            os.close(self._from)
            deadline = time.monotonic() + _FAREWELL_S
            while os.waitpid(pid, os.WNOHANG) == (0, 0):
                if time.monotonic() > deadline:
                    os.kill(pid, signal.SIGKILL)
                time.sleep(0.01)
        self._profile.close()

    def start(self) -> None:
        """Start the browser unless it runs, with our ends of two pipes as its descriptors 3 and 4.

        Raises
        ------
        PageError
            When it is no program.
        """
        if self._pid is not None:
            return
        profile = str(self._profile.enter_context(scratch_folder(Path(tempfile.gettempdir()))))
        commands, self._to = _high(os.pipe())
        self._from, answers = _high(os.pipe())
        command = [
            self._path,
            *browser_flags(profile),
            "--remote-debugging-pipe",
            "about:blank",
        ]
        silent = [(os.POSIX_SPAWN_OPEN, fd, os.devnull, os.O_RDWR, 0) for fd in (0, 1, 2)]
        ours = [(os.POSIX_SPAWN_DUP2, commands, 3), (os.POSIX_SPAWN_DUP2, answers, 4)]
        try:
            self._pid = os.posix_spawnp(
                command[0], command, os.environ, file_actions=[*silent, *ours]
            )
        except OSError as error:
            os.close(self._to)
            os.close(self._from)
            raise self._unable(error) from error
        finally:
            os.close(commands)
            os.close(answers)
        self._rest = b""

    def _printed(self, address: str) -> bytes:
        """Open a page in a tab of its own, print it, close the tab."""
        tab = self._ask("Target.createTarget", url="about:blank")["targetId"]
        session = self._ask("Target.attachToTarget", targetId=tab, flatten=True)["sessionId"]
        self._ask("Page.enable", session)
        self._ask("Page.navigate", session, url=address)
        self._until(lambda message: message.get("method") == "Page.loadEventFired")
        printed = self._ask(
            "Page.printToPDF",
            session,
            printBackground=True,
            preferCSSPageSize=True,
            generateTaggedPDF=True,
        )
        self._ask("Target.closeTarget", targetId=tab)
        return base64.b64decode(printed["data"])

    def _ask(self, method: str, session: str = "", **parameters: Any) -> dict[str, Any]:
        """Send one command and return its answer."""
        self._number += 1
        number = self._number
        command: dict[str, Any] = {"id": number, "method": method, "params": parameters}
        if session:
            command["sessionId"] = session
        left = json.dumps(command).encode() + b"\0"
        while left:
            left = left[os.write(self._to, left) :]
        answer = self._until(lambda message: message.get("id") == number)
        if "error" in answer:
            raise ValueError(answer["error"].get("message", "no reason given"))
        result: dict[str, Any] = answer["result"]
        return result

    def _until(self, wanted: Any) -> dict[str, Any]:
        """Read messages until one is wanted."""
        deadline = time.monotonic() + _SECONDS
        while True:
            while b"\0" in self._rest:
                raw, _, self._rest = self._rest.partition(b"\0")
                message: dict[str, Any] = json.loads(raw)
                if wanted(message):
                    return message
            left = deadline - time.monotonic()
            if left <= 0 or not select.select([self._from], [], [], left)[0]:
                msg = f"no answer within {_SECONDS:.0f} s"
                raise TimeoutError(msg)
            found = os.read(self._from, 1 << 20)
            if not found:
                msg = "it ended before its time"
                raise OSError(msg)
            self._rest += found


def _high(pipe: tuple[int, int]) -> tuple[int, int]:
    """Move a pipe's descriptors out of the way of 3 and 4."""
    low, high = list(pipe), list[int]()
    while len(high) < len(pipe):
        copy = os.dup(low[len(high)])
        (high if copy >= _FIRST_FREE else low).append(copy)
    for end in low:
        os.close(end)
    return high[0], high[1]
