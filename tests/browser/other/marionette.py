"""Firefox driven through its own protocol, Marionette, by the commands of Selenium.

Debian packs Firefox without the program that usually stands between the two, and no registry has it from
those who make it. It does little: a command of WebDriver has a twin of nearly the same name in Marionette,
which is a line of JSON, [0, number, name, parameters], with its length before it; the answer is [1, number,
error, value] (Firefox Source Docs, Remote Protocols, Marionette).
"""

from __future__ import annotations

import itertools
import json
import socket
from typing import Any

from selenium.webdriver.remote.command import Command

TWINS = {
    Command.NEW_SESSION: "WebDriver:NewSession",
    Command.QUIT: "Marionette:Quit",
    Command.GET: "WebDriver:Navigate",
    Command.GET_CURRENT_URL: "WebDriver:GetCurrentURL",
    Command.REFRESH: "WebDriver:Refresh",
    Command.FIND_ELEMENT: "WebDriver:FindElement",
    Command.FIND_ELEMENTS: "WebDriver:FindElements",
    Command.CLICK_ELEMENT: "WebDriver:ElementClick",
    Command.CLEAR_ELEMENT: "WebDriver:ElementClear",
    Command.SEND_KEYS_TO_ELEMENT: "WebDriver:ElementSendKeys",
    Command.W3C_EXECUTE_SCRIPT: "WebDriver:ExecuteScript",
    Command.W3C_EXECUTE_SCRIPT_ASYNC: "WebDriver:ExecuteAsyncScript",
    Command.W3C_ACTIONS: "WebDriver:PerformActions",
    Command.SET_TIMEOUTS: "WebDriver:SetTimeouts",
    Command.SET_WINDOW_RECT: "WebDriver:SetWindowRect",
    Command.SCREENSHOT: "WebDriver:TakeScreenshot",
}
FAILED = 500  # any status but success has Selenium look at the error's name


class Marionette:
    """What Selenium hands its commands to, in the place of a connection to a driver."""

    client_config = None

    def __init__(self, port: int, patience_s: float) -> None:
        self.line = socket.create_connection(("127.0.0.1", port), timeout=patience_s)
        self.heard = self.line.makefile("rb")
        self.numbers = itertools.count(1)
        self._read()  # it says who it is

    def execute(self, command: str, params: dict[str, Any]) -> dict[str, Any]:
        """Send one command; return its answer as a driver gives it."""
        given = {name: value for name, value in params.items() if name != "sessionId"}
        if command == Command.NEW_SESSION:
            given = given["capabilities"]["alwaysMatch"] | {"strictFileInteractability": False}
        if command == Command.QUIT:
            given = {"flags": ["eForceQuit"]}
        return self._ask(TWINS[command], given)

    def close(self) -> None:
        self.heard.close()
        self.line.close()

    def _ask(self, name: str, given: dict[str, Any]) -> dict[str, Any]:
        message = json.dumps([0, next(self.numbers), name, given]).encode()
        self.line.sendall(b"%d:%s" % (len(message), message))
        _kind, _number, error, value = self._read()
        if error:
            return {"status": FAILED, "value": json.dumps({"value": error})}
        return value if isinstance(value, dict) and "value" in value else {"value": value}

    def _read(self) -> Any:
        length = b""
        while not length.endswith(b":"):
            byte = self.heard.read(1)
            if not byte:
                raise ConnectionError("Firefox has ended")
            length += byte
        return json.loads(self.heard.read(int(length[:-1])))
