"""A real Chromium, driven by its own protocol over a WebSocket: pages, touches, keys, pictures."""

from __future__ import annotations

import base64
import itertools
import json
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from websockets.sync.client import ClientConnection, connect

CHROMIUM = ("chromium", "chromium-browser", "google-chrome")
"""The browser, by its names."""
PATIENCE = 30.0


class Browser:
    """One headless Chromium; every page gets cookies of its own unless it is opened beside another."""

    def __init__(self, *options: str) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="chromium", ignore_cleanup_errors=True)
        usual = ["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--remote-debugging-port=0"]
        usual += ["--disable-background-networking", "--disable-component-update", "--mute-audio"]
        usual += ["--disable-renderer-backgrounding", "--disable-backgrounding-occluded-windows"]
        program = next(found for name in CHROMIUM if (found := shutil.which(name)))
        self._process = subprocess.Popen(
            [program, *usual, f"--user-data-dir={self._folder.name}", *options, "about:blank"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        self.talk: Talk = Talk(self._listens())

    def _listens(self) -> str:
        """Where it listens, once it has written that down."""
        note, end = Path(self._folder.name) / "DevToolsActivePort", time.monotonic() + PATIENCE
        while not (note.exists() and len(lines := note.read_text(encoding="utf-8").splitlines()) == 2):
            assert self._process.poll() is None and time.monotonic() < end, "Chromium does not say where it listens"
            time.sleep(0.02)
        return f"ws://127.0.0.1:{lines[0]}{lines[1]}"

    def page(
        self, url: str, width: int = 800, height: int = 1280, beside: Page | None = None, dark: bool = False
    ) -> Page:
        """A page of that size at that address, touched and not clicked."""
        context = beside.context if beside else self.talk.ask("Target.createBrowserContext")["browserContextId"]
        made = self.talk.ask("Target.createTarget", url="about:blank", browserContextId=context)["targetId"]
        session = self.talk.ask("Target.attachToTarget", targetId=made, flatten=True)["sessionId"]
        page = Page(self.talk, session, context, made)
        page.ask("Page.enable")
        page.ask("Runtime.enable")
        page.ask("Log.enable")
        page.resize(width, height)
        page.ask("Emulation.setTouchEmulationEnabled", enabled=True)
        scheme = [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]
        page.ask("Emulation.setEmulatedMedia", features=scheme)
        page.go(url)
        return page

    def close(self) -> None:
        """End it."""
        self.talk.ask("Browser.close")
        self.talk.close()
        self._process.wait(PATIENCE)
        self._folder.cleanup()


class Talk:
    """Questions to the browser, and their answers; what it tells by itself is kept."""

    def __init__(self, url: str) -> None:
        self._socket: ClientConnection = connect(url, max_size=None, compression=None, proxy=None, legacy=True)
        self._numbers = itertools.count(1)
        self.told: list[dict[str, Any]] = []

    def ask(self, method: str, session: str = "", **parameters: object) -> dict[str, Any]:
        """What the browser answers; raises `AssertionError` if it refuses."""
        number = next(self._numbers)
        message: dict[str, object] = {"id": number, "method": method, "params": parameters}
        if session:
            message["sessionId"] = session
        self._socket.send(json.dumps(message))
        while True:
            answer: dict[str, Any] = json.loads(self._socket.recv(PATIENCE))
            if answer.get("id") == number:
                assert "error" not in answer, (method, answer)
                result: dict[str, Any] = answer["result"]
                return result
            self.told.append(answer)

    def close(self) -> None:
        """Let go."""
        self._socket.close()


class Page:
    """One page."""

    def __init__(self, talk: Talk, session: str, context: str, target: str) -> None:
        self._talk, self._session, self.context, self._target = talk, session, context, target

    def ask(self, method: str, **parameters: object) -> dict[str, Any]:
        """A question about this page."""
        return self._talk.ask(method, self._session, **parameters)

    def go(self, url: str) -> None:
        """Open an address, and wait until its page is there."""
        self.ask("Page.navigate", url=url)
        self.until("location.href !== 'about:blank' && document.readyState === 'complete'")

    def resize(self, width: int, height: int) -> None:
        """As if the tablet were turned."""
        self.ask("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=True)

    def value(self, script: str) -> Any:
        """What an expression is worth there; promises are waited for."""
        found = self.ask("Runtime.evaluate", expression=script, awaitPromise=True, returnByValue=True)
        assert "exceptionDetails" not in found, found["exceptionDetails"]
        return found["result"].get("value")

    def until(self, script: str, seconds: float = PATIENCE) -> Any:
        """Wait until an expression is true there."""
        end = time.monotonic() + seconds
        while True:
            found = self.value(f"(() => {{ try {{ return {script} }} catch {{ return null }} }})()")
            if found:
                return found
            assert time.monotonic() < end, f"{script}\n{self.text()}"
            time.sleep(0.01)

    def text(self) -> str:
        """Everything that can be seen."""
        return str(self.value("document.body?.innerText"))

    def shows(self, text: str) -> None:
        """Wait until this can be seen."""
        self.until(f"document.body.innerText.includes({json.dumps(text)})")

    def touch(self, script: str) -> None:
        """Touch the middle of an element with one finger, once it can be seen and nothing covers it."""
        where = "(e => { e.scrollIntoView({block: 'nearest'}); const r = e.getBoundingClientRect(); "
        where += "return [r.x + r.width / 2, r.y + r.height / 2, e.contains(document.elementFromPoint("
        where += f"r.x + r.width / 2, r.y + r.height / 2))] }})({script})"
        self.front()
        x, y, _ = self.until(f"(found => found[2] && found)({where})")
        self.ask("Input.dispatchTouchEvent", type="touchStart", touchPoints=[{"x": x, "y": y}])
        self.ask("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])

    def front(self) -> None:
        """Bring it before the others: a page that nobody sees is not drawn and can't be touched."""
        self.ask("Page.bringToFront")

    def touch_key(self, label: str, inside: str = "#keys") -> None:
        """Touch a key by its label, or by its words."""
        self.touch(
            f"[...document.querySelectorAll('{inside} button')].find(b => [b.firstChild.textContent, "
            f"b.querySelector('small')?.textContent].includes({json.dumps(label)}))"
        )

    def type(self, text: str) -> None:
        """Put text where the keyboard is, as a keyboard on the screen does."""
        self.ask("Input.insertText", text=text)

    def press(self, key: str) -> None:
        """Press and let go of a key by its name, Enter or Tab."""
        code = {"Enter": 13, "Tab": 9}[key]
        text = {"text": "\r"} if key == "Enter" else {}
        for kind in ("keyDown", "keyUp"):
            self.ask("Input.dispatchKeyEvent", type=kind, key=key, windowsVirtualKeyCode=code, **text)

    def offline(self, away: bool) -> None:
        """Take the network away, or give it back."""
        self.ask("Network.enable")
        self.ask(
            "Network.emulateNetworkConditions", offline=away, latency=0, downloadThroughput=-1, uploadThroughput=-1
        )

    def picture(self, path: Path) -> None:
        """A picture of what can be seen."""
        path.parent.mkdir(parents=True, exist_ok=True)
        self.front()
        path.write_bytes(base64.b64decode(self.ask("Page.captureScreenshot", format="png")["data"]))

    def complaints(self) -> Iterable[str]:
        """Everything that the browser complained of on this page: faults of scripts, what its policy refused."""
        self.value("0")
        for one in self._talk.told:
            if one.get("sessionId") == self._session and one["method"] == "Log.entryAdded":
                yield str(one["params"]["entry"]["text"])
            if one.get("sessionId") == self._session and one["method"] == "Runtime.exceptionThrown":
                yield str(one["params"]["exceptionDetails"])

    def close(self) -> None:
        """Close the page."""
        self._talk.ask("Target.closeTarget", targetId=self._target)
