"""The report's page in a real browser: an accessibility checker finds nothing, and no screen is too narrow for it."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from fleet_jobs import gathered, write
from records import TINY, TINY_DONE, talked
from reports import evil_job

from guide.fleet.engines import Which
from guide.fleet.review import review
from guide.record.keys import Keys
from guide.report.found import find
from guide.report.job import job_document
from guide.report.page import page
from guide.report.sheets import care_document

CHROMIUM = ("chromium", "chromium-browser", "google-chrome")
"""The browser, by its names."""


def asked(text: str, script: str, width: int, folder: Path) -> Any:
    """What a script says of a page that is this many pixels wide; the page's own ban on scripts is lifted for it."""
    open_page = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", text)
    assert open_page != text
    tail = f'<script>{script}</script><pre id="asked"></pre></body>'
    (folder / "page.html").write_text(open_page.replace("</body>", tail), encoding="utf-8")
    options = ["--headless", "--no-sandbox", "--disable-gpu", "--virtual-time-budget=20000", "--dump-dom"]
    options += [f"--window-size={width},900", f"--user-data-dir={folder / 'profile'}"]
    browser = next(path for name in CHROMIUM if (path := shutil.which(name)))
    command = [browser, *options, (folder / "page.html").as_uri()]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=True)
    found = re.search(r'<pre id="asked">(.*?)</pre>', done.stdout, re.DOTALL)
    assert found is not None, done.stdout[-500:]
    said = found[1].replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", '"').replace("&amp;", "&")
    return json.loads(said)


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """A page full of markup and of words without end, the owner's sheet, and a review of many jobs."""
    folder = tmp_path_factory.mktemp("jobs")
    none = Keys(folder / "keys")
    evil = find(evil_job(folder / "evil", {"Gap": "Gap" * 60, "gauge": "gauge" * 40}), none)
    talked(folder / "tiny", TINY, TINY_DONE)
    write(folder / "fleet", 12)
    gathered(folder / "store", folder / "fleet")
    review(folder / "store", Which(invented=True), None, folder / "review.html", "duckdb")
    return {
        "job": page(job_document(evil)),
        "care": page(care_document(find(folder / "tiny", none))),
        "review": (folder / "review.html").read_text(encoding="utf-8"),
    }


SCRIPT = """
addEventListener("load", () => axe.run(document, {resultTypes: ["violations"]}).then(found => {
  const root = document.documentElement;
  const over = [...document.querySelectorAll("body *")]
    .filter(one => one.getBoundingClientRect().right > root.clientWidth + 1 && !one.closest("thead, svg"));
  document.getElementById("asked").textContent = JSON.stringify({
    rules: found.passes.length,
    faults: found.violations.map(one => [one.id, one.nodes.map(node => node.html)]),
    wide: root.scrollWidth, window: root.clientWidth, over: over.map(one => one.outerHTML.slice(0, 80))});
}));
"""


@pytest.mark.needs(*CHROMIUM)
@pytest.mark.outside("axe-core in Chromium, every rule of it; the layout of Chromium", "published")
@pytest.mark.parametrize(("name", "width"), [("job", 390), ("job", 1200), ("care", 390), ("review", 390)])
def test_a_real_browser(pages: dict[str, str], tmp_path: Path, name: str, width: int) -> None:
    """Pages of reports and reviews have no fault that an accessibility checker knows, and fit the screen"""
    axe = files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8")
    said = asked(pages[name], axe + SCRIPT, width, tmp_path)
    assert said["rules"] > 10 and said["faults"] == []
    assert said["wide"] <= said["window"] and said["over"] == []
