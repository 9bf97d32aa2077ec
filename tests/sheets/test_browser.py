"""The page in headless Chromium: it asks for nothing, keeps ticks, filters, lights runs, prints, and can be read by all."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.sheets import sample
from tests.sheets.job import PLANNED, job_at

from loomwright.sheets import render
from loomwright.sheets.document import Papers, Table, plain
from loomwright.sheets.job import job_of
from loomwright.sheets.papers import papers

pytestmark = pytest.mark.program("chromium")

QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
AS_FOUND = PLANNED.with_name("as-found.fitout")
SPECS = pytest.mark.parametrize("spec", [PLANNED, AS_FOUND], ids=lambda path: path.stem)
LEVELS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]
ROWS = "#sheets [data-place], #sheets [data-person]"
Open = Callable[..., Any]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """One browser for all tests here: the system's own, never one that is fetched."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        launched = driver.chromium.launch(executable_path=shutil.which("chromium"), args=list(QUIET))
        yield launched
        launched.close()


@pytest.fixture(scope="module")
def bound() -> Callable[[Path], Papers]:
    kept: dict[Path, Papers] = {}

    def of(spec: Path) -> Papers:
        if spec not in kept:
            kept[spec] = papers(job_at(spec))
        return kept[spec]

    return of


@pytest.fixture(scope="module")
def rendered() -> Callable[[Papers], str]:
    """The page of some papers, made once for all tests that open the same."""
    kept: dict[int, tuple[Papers, str]] = {}

    def of(what: Papers) -> str:
        if id(what) not in kept:
            kept[id(what)] = what, render.html(what)
        return kept[id(what)][1]

    return of


@pytest.fixture
def opened(browser: Any, rendered: Callable[[Papers], str], tmp_path: Path) -> Iterator[Open]:
    """Opens papers from a file in a window of their own. Whatever the page says or asks for on the way fails the test."""
    windows: list[Any] = []
    told: list[str] = []

    def of(what: Papers, **settings: Any) -> Any:
        file = tmp_path / f"papers-{len(windows)}.html"
        file.write_text(rendered(what), encoding="utf-8")
        window = browser.new_context(**settings)
        windows.append(window)

        def meet(route: Any) -> None:
            if route.request.url == file.as_uri():
                route.continue_()
            else:
                told.append(f"request: {route.request.url}")
                route.abort()

        window.route("**/*", meet)
        page = window.new_page()
        page.on("console", lambda message: told.append(f"console: {message.text}"))
        page.on("pageerror", lambda error: told.append(f"error: {error}"))
        page.on("dialog", lambda dialog: told.append(f"dialog: {dialog.message}"))
        page.goto(file.as_uri())
        return page

    yield of
    for window in windows:
        window.close()
    assert told == []


# ---------------------------------------------------------------- on the screen


@SPECS
def test_the_page_opens_from_a_file_with_every_sheet_and_asks_for_nothing(
    opened: Open, bound: Callable[[Path], Papers], spec: Path
) -> None:
    page = opened(bound(spec))
    page.wait_for_load_state("networkidle")
    titles = page.locator("main > section > h2").all_inner_texts()
    assert titles == [sheet.title for sheet in bound(spec).sheets]
    assert page.locator("nav a").all_inner_texts() == titles
    wide = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert wide[0] <= wide[1]  # wide tables and drawings scroll in themselves


@SPECS
def test_on_a_telephone_nothing_but_tables_and_drawings_is_wider_than_the_screen(
    opened: Open, bound: Callable[[Path], Papers], spec: Path
) -> None:
    page = opened(bound(spec), viewport={"width": 360, "height": 740})
    wide = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert wide[0] <= wide[1]
    drawn = page.evaluate(
        "[...document.querySelectorAll('.drawing svg')].map(svg => svg.getBoundingClientRect().width)"
    )
    assert drawn
    assert min(drawn) > 600  # not shrunk until nobody can read it
    assert page.evaluate("getComputedStyle(document.querySelector('.scroll td')).position") == "sticky"


def test_ticks_survive_a_reload_until_they_are_cleared(opened: Open) -> None:
    page = opened(papers(job_at(PLANNED), ["work-order"]))
    boxes = page.locator("#sheet-work-order input[data-tick]")
    for index in (0, 3):
        boxes.nth(index).check()
    keys = [boxes.nth(index).get_attribute("data-tick") for index in (0, 3)]
    page.reload()
    ticked = "[...document.querySelectorAll('input:checked')].map(box => box.dataset.tick)"
    assert page.evaluate(ticked) == keys
    boxes.nth(3).uncheck()
    page.reload()
    assert page.evaluate(ticked) == keys[:1]
    page.get_by_role("button", name="Clear all ticks").click()
    assert page.evaluate(ticked) == []
    page.reload()
    assert page.evaluate(ticked) == []


@pytest.mark.parametrize(("what", "value"), [("place", "engine-bay"), ("person", "apprentice")])
def test_a_filter_leaves_what_is_of_that_place_or_person(
    opened: Open, bound: Callable[[Path], Papers], what: str, value: str
) -> None:
    page = opened(bound(PLANNED))
    shown = f"""[...document.querySelectorAll("{ROWS}")].filter(row => !row.closest(".always"))
        .map(row => [row.dataset.{what} ?? null, (row.querySelector("label") ?? row).checkVisibility()])"""
    before = page.evaluate(shown)
    assert all(seen for _, seen in before)
    page.locator(f"select[data-filter={what}]").select_option(value)
    after = page.evaluate(shown)
    kept = [seen for of, seen in after if of is None or value in of.split()]
    gone = [seen for of, seen in after if of is not None and value not in of.split()]
    assert len(kept) > 10
    assert len(gone) > 10
    assert all(kept)
    assert not any(gone)
    assert f"Filtered: {what} {value}." in page.locator(".filtered").inner_text()
    page.locator(f"select[data-filter={what}]").select_option("")
    assert page.evaluate(shown) == before


@pytest.mark.parametrize(("what", "value"), [("place", "headboard"), ("person", "apprentice")])
def test_no_filter_hides_what_keeps_people_safe(
    opened: Open, bound: Callable[[Path], Papers], what: str, value: str
) -> None:
    page = opened(bound(PLANNED))
    page.locator(f"select[data-filter={what}]").select_option(value)
    safe = """[...document.querySelectorAll(".always > li, #sheet-work-order .caution")].map(step => step.checkVisibility())"""
    seen = page.evaluate(safe)
    assert len(seen) > 40
    assert all(seen)
    text = page.locator("#sheet-work-order").inner_text()
    assert "Take the negative lead off crank" in text
    assert "Prove it dead." in text


def test_a_place_shows_every_run_that_passes_it(opened: Open, bound: Callable[[Path], Papers]) -> None:
    page = opened(bound(PLANNED))
    page.locator("select[data-filter=place]").select_option("headboard")
    seen = """[...document.querySelectorAll("#sheet-run-schedule tr[data-run]")].filter(row => row.checkVisibility()).map(row => row.dataset.run)"""
    installation = job_at(PLANNED).installation
    passing = {
        run.name
        for run, stretches in installation.stretches_of.items()
        if isinstance(stretches, tuple) and "headboard" in {each.place.name for each in stretches}
    }
    assert passing >= {"main", "panel"}
    assert set(page.evaluate(seen)) == passing


def test_a_tick_does_not_outlive_a_change_of_the_text(opened: Open) -> None:
    page = opened(papers(job_at(PLANNED), ["work-order"]))
    ticked = "document.querySelectorAll('input:checked').length"
    page.locator("input[data-tick]").first.check()
    page.reload()
    assert page.evaluate(ticked) == 1
    file = Path(page.url.removeprefix("file://"))
    old = job_at(PLANNED)
    text = render.html(
        papers(job_of(old.texts[0] + "# one comment more\n", str(PLANNED), old.today), ["work-order"])
    )
    file.write_text(text, encoding="utf-8")
    page.reload()
    assert page.evaluate(ticked) == 0


def test_a_run_under_the_pointer_lights_wherever_it_stands(
    opened: Open, bound: Callable[[Path], Papers]
) -> None:
    page = opened(bound(PLANNED))
    lit = """[...document.querySelectorAll(".lit")].map(part => [part.dataset.run, part.closest("section").id, part.localName])"""
    page.locator("#sheet-run-schedule tr[data-run=main] td").first.hover()
    found = page.evaluate(lit)
    assert {run for run, _, _ in found} == {"main"}
    assert {"sheet-diagram", "sheet-routing", "sheet-run-schedule"} <= {sheet for _, sheet, _ in found}
    assert "g" in {name for _, _, name in found}  # in the drawings too
    page.locator("h1").hover()
    assert page.evaluate(lit) == []


@SPECS
def test_without_scripts_all_can_be_read(opened: Open, bound: Callable[[Path], Papers], spec: Path) -> None:
    page = opened(bound(spec), java_script_enabled=False)
    text = " ".join(page.locator("main").inner_text().split())
    for sheet in bound(spec).sheets:
        assert sheet.title in text
        for block in sheet.blocks:
            if not isinstance(block, Table):
                continue
            for row in block.rows:
                for cell in row.cells:
                    if isinstance(cell, (str, tuple)):
                        assert " ".join(plain(cell).split()) in text
    assert not page.locator("form.filters").is_visible()  # it would do nothing


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_paper_and_ink_follow_the_readers_choice(
    opened: Open, bound: Callable[[Path], Papers], scheme: str
) -> None:
    page = opened(bound(AS_FOUND), color_scheme=scheme)
    colours = page.evaluate(
        """["backgroundColor", "color"].map(name => getComputedStyle(document.body)[name].match(/\\d+/g).map(Number))"""
    )
    paper, ink = (sum(colour[:3]) / 3 for colour in colours)
    assert (paper > 200 and ink < 60) if scheme == "light" else (paper < 60 and ink > 200)


# ---------------------------------------------------------------- for everyone


def barriers(page: Any, **rules: bool) -> list[tuple[str, int, str]]:
    """What axe-core finds by the rules of WCAG 2.0 and 2.1 at levels A and AA: rule, how often, the first place."""
    from axe_playwright_python.sync_playwright import Axe

    options = {
        "runOnly": {"type": "tag", "values": LEVELS},
        "resultTypes": ["violations"],
        "rules": {name.replace("_", "-"): {"enabled": enabled} for name, enabled in rules.items()},
    }
    response = Axe().run(page, options=options).response
    assert response["passes"]
    return [
        (each["id"], len(each["nodes"]), each["nodes"][0]["html"][:200]) for each in response["violations"]
    ]


@SPECS
def test_axe_finds_no_barrier_of_level_a_or_aa(
    opened: Open, bound: Callable[[Path], Papers], spec: Path
) -> None:
    """All but contrast, which takes a minute on thousands of cells and is the same in each: see below."""
    assert barriers(opened(bound(spec)), color_contrast=False) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_contrast_enough_in_light_and_dark(opened: Open, scheme: str) -> None:
    """On every kind of block, and on the sheets with colours of their own."""
    assert barriers(opened(sample.papers(), color_scheme=scheme)) == []
    coloured = papers(job_at(PLANNED), ["diagram", "fuse-chart"])
    assert barriers(opened(coloured, color_scheme=scheme)) == []


def test_axe_sees_a_barrier_where_there_is_one(opened: Open) -> None:
    page = opened(sample.papers())
    page.evaluate(
        """() => { const box = document.querySelector("td input"); box.removeAttribute("aria-label"); }"""
    )
    page.evaluate("""() => { document.querySelector("h1").style.color = "#ddd"; }""")
    assert {rule for rule, _, _ in barriers(page)} == {"label", "color-contrast"}


def test_the_keyboard_reaches_everything_in_the_order_of_the_page(
    opened: Open, bound: Callable[[Path], Papers]
) -> None:
    page = opened(bound(AS_FOUND))
    page.evaluate(
        """() => {
            const reachable = "a[href], button, input, select, [tabindex]";
            window.all = [...document.querySelectorAll(reachable)].filter(each => each.tabIndex >= 0 && each.checkVisibility());
            window.met = [];
            document.addEventListener("focusin", event => met.push(all.indexOf(event.target)));
        }"""
    )
    count = page.evaluate("all.length")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the sheets"
    assert (
        page.evaluate("document.activeElement.getBoundingClientRect().left") >= 0
    )  # seen once it has the focus
    for _ in range(count - 1):
        page.keyboard.press("Tab")
    assert page.evaluate("met") == list(range(count))
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"


def test_the_skip_link_leads_past_the_menu(opened: Open, bound: Callable[[Path], Papers]) -> None:
    page = opened(bound(AS_FOUND))
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")


# ---------------------------------------------------------------- on paper


def pages_of(file: Path) -> list[str]:
    done = subprocess.run(["pdftotext", "-layout", str(file), "-"], capture_output=True, check=True)
    return done.stdout.decode().split("\f")[:-1]


@pytest.mark.program("pdftotext")
@SPECS
def test_in_print_each_sheet_starts_a_page_with_a_head_and_no_row_is_split(
    opened: Open, bound: Callable[[Path], Papers], spec: Path, tmp_path: Path
) -> None:
    made = tmp_path / "print.pdf"
    opened(bound(spec)).pdf(path=str(made), prefer_css_page_size=True)
    pages = pages_of(made)
    starts = [next(n for n, text in enumerate(pages) if sheet.title in text[:800] and f"For {sheet.readers}"[:40] in text)
              for sheet in bound(spec).sheets if not sheet.short]  # fmt: skip
    assert starts == sorted(set(starts))
    for number, text in enumerate(pages, 1):
        assert bound(spec).title in text.strip().splitlines()[0]
        assert f"page {number} of {len(pages)}" in " ".join(text.split())
    words = [Counter(text.split()) for text in pages]
    for sheet in bound(spec).sheets:
        for table in (block for block in sheet.blocks if isinstance(block, Table)):
            for row in table.rows:
                text = " ".join(plain(cell) for cell in row.cells if isinstance(cell, (str, tuple)))
                # Only words that no line may break, and that are long enough not to be read as one with the next.
                wanted = Counter(re.findall(r"(?<!\S)\w{3,}(?!\S)", text))
                assert any(wanted <= of_page for of_page in words), text


# ---------------------------------------------------------------- user text


def test_user_text_is_text_in_every_place_of_the_page(opened: Open) -> None:
    """Each block of the sample holds it once; a filter and a title are places too."""
    page = opened(sample.papers(sample.NASTY))
    same = "(nasty) => [...document.querySelectorAll('*')].filter(each => each.textContent === nasty).map(each => each.localName)"
    found = Counter(page.evaluate(same, sample.NASTY))
    assert {name: found[name] for name in ("h1", "dd", "td")} == {"h1": 1, "dd": 1, "td": 2}
    assert page.title() == f"{sample.NASTY}: install documents"
    assert page.locator("script").count() == 1
    assert (
        page.locator("figcaption").text_content() == "A fuse."
    )  # what it shows is told by the drawing itself
    assert sample.NASTY in page.locator("aside.caution").first.text_content()
    assert sample.NASTY in page.locator(".signatures").text_content()
