"""An assessor who scores on a phone: presses are counted, and so are those that need scrolling."""

import hashlib
import json
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page, expect

from assessments.actions.programs import load_program
from assessments.actions.sealing import seal_standard
from assessments.models import Attempt
from tests.factories import PASSWORD, enrol, make_organisation, make_person, make_role, make_run
from tests.training.fit.builders import keep
from training.models import CourseRun, Person, Program, Role

PROGRAMS = Path(__file__).parents[3] / "fixtures" / "programs"
AXE = Path(__file__).parents[1] / "axe" / "axe.min.js"
AXE_SHA256 = "29348999450cdf2849a8e70b7912fc2da85a849da39c0d0d5394f51d4a9ed95c"
PHONE = (360, 740)

# Sizes, gaps, letters, contrast and width of what is on the screen. The contrast ratio is that of
# WCAG 2.2, "relative luminance" and "contrast ratio" (from memory; black on white gives 21).
MEASURE = """() => {
  const seen = (node) => {
    const box = node.getBoundingClientRect();
    return box.width > 1 && box.height > 1 && getComputedStyle(node).visibility !== "hidden";
  };
  const all = document.querySelectorAll("#app :is(a, button, input, textarea)");
  const keys = [...all].filter(seen);
  const label = (node) => (node.getAttribute("aria-label") || node.textContent || node.id).trim();
  const light = (rgb) => rgb.map((c) => c / 255)
    .map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4))
    .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
  const parts = (text) => text.match(/[\\d.]+/g).map(Number);
  const paper = (node) => {
    for (let at = node; at; at = at.parentElement) {
      const [r, g, b, a = 1] = parts(getComputedStyle(at).backgroundColor);
      if (a === 1) return [r, g, b];
    }
    return [255, 255, 255];
  };
  const found = { small: [], near: [], pale: [], light: [], count: keys.length };
  for (const key of keys) {
    const { width, height } = key.getBoundingClientRect();
    const [w, h] = key.classList.contains("verdict") ? [104, 120] : [90, 90];
    if (width < w - 0.5 || height < h - 0.5) found.small.push([label(key), width, height]);
    const { fontSize, fontWeight } = getComputedStyle(key);
    if (parseFloat(fontSize) < 20 || Number(fontWeight) < 700)
      found.light.push([label(key), fontSize, fontWeight]);
  }
  const still = keys.filter((key) => !key.closest(".bar"));
  const bars = keys.filter((key) => key.closest(".bar"));
  for (const group of [still, bars]) {
    const boxes = group.map((key) => [key, key.getBoundingClientRect()]);
    boxes.forEach(([key, a], i) => boxes.slice(i + 1).forEach(([other, b]) => {
      const across = Math.max(a.left, b.left) - Math.min(a.right, b.right);
      const down = Math.max(a.top, b.top) - Math.min(a.bottom, b.bottom);
      if (Math.max(across, down) < 11.5) found.near.push([label(key), label(other), across, down]);
    }));
  }
  const texts = document.createTreeWalker(document.getElementById("app"), NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const node = texts.currentNode.parentElement;
    if (!texts.currentNode.data.trim() || !seen(node)) continue;
    const ink = node instanceof SVGElement ? [0, 0, 0] : parts(getComputedStyle(node).color);
    const [a, b] = [light(ink.slice(0, 3)), light(paper(node))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 7) found.pale.push([texts.currentNode.data, ratio]);
  }
  found.sideways = document.documentElement.scrollWidth - window.innerWidth;
  return found;
}"""


class World:
    """A program, sealed, with a run of one instructor and two trainees."""

    def __init__(self, file: str | Path = "dutchman.yaml", trainees: int = 2) -> None:
        provider = make_organisation()
        lead = make_role(Role.Kind.LEAD, provider)
        self.instructor = make_role(Role.Kind.INSTRUCTOR, provider, "Imani Castellane")
        path = PROGRAMS / file
        self.program: Program = load_program(
            actor=lead, provider=provider, source=path.read_text("utf-8"), filename=path.name
        )
        self.standard = seal_standard(actor=lead, program=self.program)
        self.run: CourseRun = make_run(self.program, instructors=(self.instructor,))
        self.trainees: list[Person] = [make_person() for _ in range(trainees)]
        for person in self.trainees:
            enrol(self.run, person)
            for each in self.program.prerequisites.all():
                keep(lead, person, provider, each.key)

    def attempt(self, trainee: int = 0) -> Attempt:
        """Return the open attempt of a trainee."""
        return Attempt.objects.get(enrolment__person=self.trainees[trainee])


class Scorer:
    """Presses keys as a thumb does: what is not in sight has to be scrolled to, and counts."""

    def __init__(self, context: BrowserContext, address: str) -> None:
        self.context = context
        self.address = address
        self.page: Page = context.new_page()
        self.taps = 0
        self.scrolls = 0
        self.scrolled = 0
        self.complaints: list[str] = []
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def sign_in(self, person: Person) -> None:
        self.page.goto(f"{self.address}/sign-in/")
        self.page.fill("[name=username]", person.email)
        self.page.fill("[name=password]", PASSWORD)
        self.page.press("[name=password]", "Enter")
        self.page.wait_for_url(f"{self.address}/")

    def take(self) -> None:
        """Take the run to the site and wait until the pages open without a signal."""
        self.page.goto(f"{self.address}/site/")
        self.page.get_by_role("button", name="Take", exact=False).click()
        expect(self.page.get_by_text("The pages open without a signal.")).to_be_visible()

    def open(self, path: str) -> None:
        """Go to a screen by its address, as a link does, once the last press has had its effect."""
        self.settled()
        self.page.evaluate("(hash) => { location.hash = hash; }", f"#/{path}")
        expect(self.page.locator("#app")).to_have_attribute("data-screen", path)
        self.settled()

    def heading(self, text: str) -> None:
        expect(self.page.get_by_role("heading", level=1)).to_contain_text(text)

    def tap(self, name: str, *, exact: bool = True) -> None:
        """Press the key of that name; raises where there is none."""
        key = self.page.locator("#app .key").filter(visible=True)
        found = key.and_(
            self.page.get_by_role("button", name=name, exact=exact).or_(
                self.page.get_by_role("link", name=name, exact=exact)
            )
        ).first
        self.press(found)

    def press(self, key: Any) -> None:
        expect(key).to_be_visible()
        self.settled()
        box = key.bounding_box()
        size = self.page.viewport_size
        assert box is not None
        assert size is not None
        if not in_sight(box, size):
            self.scrolls += 1
        self.taps += 1
        key.click()
        self.scrolled = max(self.scrolled, self.page.evaluate("() => window.scrollY"))

    def level(self, index: int) -> None:
        self.press(self.page.locator(".key.level").nth(index))

    def digits(self, text: str) -> None:
        for character in text:
            self.tap("Point" if character == "." else character)

    def saved(self, title: str) -> None:
        """Wait until the next screen says what was saved."""
        expect(self.page.locator(".last")).to_have_text(f"Saved: {title}")

    def events(self) -> list[dict[str, Any]]:
        """What the store of this phone holds, read past the product's own modules."""
        found: list[dict[str, Any]] = self.page.evaluate("""() => new Promise((resolve) => {
          indexedDB.open("bankermark").onsuccess = ({ target }) => {
            const db = target.result;
            db.transaction("events").objectStore("events").getAll().onsuccess = (event) => {
              db.close();
              resolve(event.target.result);
            };
          };
        })""")
        return found

    def settled(self) -> None:
        """Wait until the screen takes presses: it drops those that follow a change at once."""
        self.page.wait_for_function(
            "() => document.getElementById('app').getAttribute('aria-busy') !== 'true'"
        )

    def measured(self) -> dict[str, Any]:
        self.settled()
        found: dict[str, Any] = self.page.evaluate(MEASURE)
        return found

    def faults(self) -> list[str]:
        """What axe-core finds on the screen, rule by rule."""
        source = AXE.read_text(encoding="utf-8")
        assert hashlib.sha256(source.encode()).hexdigest() == AXE_SHA256
        self.page.evaluate(source)
        found = self.page.evaluate("() => axe.run(document)")
        return [
            f"{each['id']}: {json.dumps([node['html'][:120] for node in each['nodes'][:3]])}"
            for each in found["violations"]
        ]


def in_sight(box: Any, size: Any) -> bool:
    """Whether the whole of a box lies on the screen."""
    across = box["x"] >= 0 and box["x"] + box["width"] <= size["width"]
    return bool(across and box["y"] >= 0 and box["y"] + box["height"] <= size["height"])


def phone_of(browser: Browser, size: tuple[int, int] = PHONE) -> BrowserContext:
    return browser.new_context(
        viewport={"width": size[0], "height": size[1]},
        has_touch=True,
        timezone_id="America/New_York",
    )
