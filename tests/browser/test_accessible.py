"""The week's page for everybody: WCAG 2.1 AA by a checker in a browser, light, dark and narrow, and by keyboard alone."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from engrave.batch import run_week

if TYPE_CHECKING:
    from playwright.sync_api import Page

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser") or ""
REQUIRED = os.environ.get("ENGRAVE_BROWSER") == "required"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]

if not REQUIRED:
    pytest.importorskip("axe_playwright_python")
    if not BROWSER:
        pytest.skip("no Chromium here", allow_module_level=True)

pytestmark = [pytest.mark.slow, pytest.mark.filterwarnings("ignore::DeprecationWarning")]

ROWS = """order,name,message,lid,typeface,cutter,wood,note,approved,due,matching
K-1,Wanda,for the evenings,round-caddy,vollkorn,diode-450,cherry,pack flat,,2026-11-30,pair
K-2,Ida,,round-caddy,vollkorn,diode-450,cherry,,,,pair
K-3,same as last time,,card-box,vollkorn,v60,maple,,,,
K-4,Bartholomew Featherstonehaugh-Cholmondeley the Third,,heart-box,vollkorn,v60,maple,,,,
K-5,Tom,,no-lid,withy,v60,maple,,,,
K-6,Ada,,card-box,vollkorn,v60,oak,,4F8G6M,,
K-7,Otto,please engrave nicely,card-box,vollkorn,diode-450,maple,,,,
K-8,Vera,,card-box,vollkorn,diode-450,maple,,{code},,
"""


@pytest.fixture(scope="module")
def week(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the page of a week with every verdict."""
    folder = tmp_path_factory.mktemp("week")
    (folder / "shop").mkdir()
    (folder / "shop" / "defaults.toml").write_text('approval = "required"\nlid = "card-box"\n', "utf-8")
    (folder / "orders.csv").write_text(ROWS.format(code=""), "utf-8")
    first = run_week(folder / "orders.csv", folder / "out", shop_folder=folder / "shop", jobs=1)
    code = next(p["proof_code"] for p in first.report["pieces"] if p["order"] == "K-8")
    (folder / "orders.csv").write_text(ROWS.format(code=code), "utf-8")
    done = run_week(folder / "orders.csv", folder / "out", shop_folder=folder / "shop", jobs=1)
    assert {p["verdict"] for p in done.report["pieces"]} == {"ready", "waiting", "look", "hold"}
    return folder / "out" / "week.html"


@contextmanager
def opened(week: Path, width: int = 1280, dark: bool = False) -> Iterator[Page]:
    """Open the page in a window so wide (CSS px)."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        context = browser.new_context(
            viewport={"width": width, "height": 900}, color_scheme="dark" if dark else "light", bypass_csp=True
        )
        page = context.new_page()
        page.goto(week.as_uri())
        yield page
        browser.close()


@pytest.mark.source("WCAG 2.1, level AA, by the rules of axe-core")
@pytest.mark.parametrize(("width", "dark"), [(1280, False), (1280, True), (400, False)])
def test_no_rule_of_the_guidelines_is_broken(week: Path, width: int, dark: bool) -> None:
    from axe_playwright_python.sync_playwright import Axe

    with opened(week, width, dark) as page:
        page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        found = Axe().run(page, options={"runOnly": RULES}).response
    told = [f"{v['id']}: {v['help']}: {n['html'][:200]}" for v in found["violations"] for n in v["nodes"][:3]]
    assert len(found["passes"]) > 10, "the checker has looked at hardly anything"
    assert not told, "\n".join(told)


@pytest.mark.parametrize("width", [400, 1280])
def test_nothing_is_wider_than_the_window(week: Path, width: int) -> None:
    with opened(week, width) as page:
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_keyboard_reaches_sifting_and_every_lid(week: Path) -> None:
    """Tab goes to every link, button and field, and what is reached is seen (WCAG 2.1.1 and 2.4.7).

    Of a group of radio buttons Tab goes to the one that is chosen; arrows go on from there.
    """
    with opened(week) as page:
        wanted = page.evaluate(
            "(() => { const every = [...document.querySelectorAll('a[href], button, input, select, summary')]"
            ".filter(e => e.checkVisibility() && !e.disabled && (e.type !== 'radio' || e.checked));"
            " every.forEach((e, n) => e.dataset.n = n); return every.length; })()"
        )
        reached, hidden = set(), []
        for _ in range(wanted + 5):
            page.keyboard.press("Tab")
            number, seen = page.evaluate(
                "(() => { const e = document.activeElement, s = getComputedStyle(e);"
                " return [e.dataset.n ?? null, s.outlineStyle !== 'none' || s.boxShadow !== 'none']; })()"
            )
            if number is not None:
                reached.add(int(number))
                hidden += [] if seen else [number]
        assert wanted > 12
        assert reached == set(range(wanted))
        assert not hidden
