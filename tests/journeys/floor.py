"""What a person does at the tablet: answers, photographs, signs."""

import re

from shop.demo.photos import edge_photo

VALUES = {
    "air_c100": "21,4",
    "humidity_rh10": "52",
    "panel_c100": "19.8",
    "lowest_c100": "19.2",
    "highest_c100": "22",
    "allowance_mm": "65",
    "return_mm": "8",
    "lot": "l-2209",
    "roll": "R-118",
    "primer_lot": "P-7",
    "slip_lot": "S-7",
    "tack_lot": "T-7",
    "opened_on": "2026-03-01",
    "expires_on": "2027-02-20",
}


class Bay:
    def __init__(self, page, served, job: int):
        self.page, self.served, self.job, self.who = page, served, job, ""
        self.photos = 0
        # Whoever tells a page stage by stage stays where he is.
        page.add_init_script("localStorage.setItem('stays', '1')")

    def open(self, place: str, stage: str) -> None:
        self.page.goto(f"{self.served.url}/bay/{self.job}/{place}/{stage}/")
        self.page.wait_for_selector("[data-waiting]", state="attached")
        if self.who:
            self.page.locator("[data-who-open]").click()
            self.page.locator("#who").get_by_role("button", name=self.who).click()

    def sent(self) -> None:
        """Everything kept on the tablet has been answered by the shop."""
        self.until(lambda: not self.page.locator("[data-waiting]:not([data-waiting='0'])").count())

    def work(self, place: str, stage: str) -> None:
        self.open(place, stage)
        for line in self.lines():
            self.answer(place, line)
        self.sent()
        notes = self.page.locator(".told").all_inner_texts()
        assert notes == [], notes
        self.photograph(place)
        self.page.reload()
        self.sent()
        bar = self.page.locator(".signbar").inner_text()
        assert stage == "cure" or not self.open_lines(), f"{stage}: {bar}"

    def lines(self) -> list[dict]:
        return self.page.evaluate(
            """() => [...document.querySelectorAll('main [data-line]')]
                .filter((row) => row.id && row.querySelector('[data-answer]') && !row.matches('[data-optional]'))
                .map((row) => ({id: row.id, line: row.dataset.line, edge: row.dataset.edge || '',
                    reading: row.hasAttribute('data-reading'),
                    start: !!row.querySelector('[data-answer=start]'),
                    event: !row.querySelector('[data-answer=wrong]') && !!row.querySelector('[data-answer=done]'),
                    settled: !!row.querySelector('[data-answer][aria-pressed=true]')}))"""
        )

    def open_lines(self) -> list[str]:
        return [row["id"] for row in self.lines() if not row["settled"] and not row["event"]]

    def answer(self, place: str, row: dict) -> None:
        if row["settled"] or row["event"]:
            return
        found = self.page.locator(f"[id='{row['id']}']")
        if row["reading"]:
            for field in found.locator("input[name], select[name]").all():
                name = field.get_attribute("name")
                if name in VALUES:
                    field.fill(VALUES[name])
                else:
                    field.select_option(index=1)
            found.locator("[data-answer=value]").click()
        elif row["start"]:
            found.locator("[data-answer=start]").click()
        elif row["edge"] == "front":
            # The first edge is touched on the drawing, the rest in its row.
            self.touch(row["line"], row["edge"])
        else:
            found.locator("[data-answer=done]").click()
        pressed = f"[id='{row['id']}'] [data-answer][aria-pressed=true]"
        self.page.wait_for_selector(pressed, state="attached", timeout=8_000)

    def until(self, holds, seconds: float = 20) -> None:
        """Polled from outside: the page's policy forbids a test to evaluate its own predicate in it."""
        for _ in range(int(seconds * 10)):
            if holds():
                return
            self.page.wait_for_timeout(100)
        raise AssertionError("It did not come about in time.")

    def touch(self, line: str, edge: str) -> None:
        """Make this line the one the drawing answers, then touch the edge itself."""
        group = self.page.locator(f"[data-edge-line='{line}']")
        group.locator(".row-text").first.click()
        self.page.locator(f".drawing-hold svg [data-edge='{edge}']").first.click()

    def photograph(self, place: str) -> None:
        for form in self.page.locator("[data-photo-many]").all():
            boxes = form.locator("input[name=edge]").all()
            for n in range(0, len(boxes), 4):
                for box in boxes[n : n + 4]:
                    box.check()
                self.take(form.locator("input[type=file]").first, f"{place} {n}")
                for box in boxes[n : n + 4]:
                    box.uncheck()
        for place_of_photo in self.page.locator(".row-photo input[type=file]").all():
            self.take(place_of_photo, f"{place} row")
        self.sent()

    def take(self, field, words: str) -> None:
        self.photos += 1
        data = edge_photo(f"journey {self.photos} {words}", words)
        field.set_input_files({"name": "edge.jpg", "mimeType": "image/jpeg", "buffer": data})
        self.page.wait_for_timeout(150)
        self.sent()

    def read_cure(self, place: str) -> None:
        self.open(place, "cure")
        row = next(row for row in self.lines() if row["line"] == "cure.temperatures")
        self.answer(place, row)
        self.sent()

    def may_sign(self) -> bool:
        """On a busy machine the last photo may be kept a moment after the page asked for was made."""
        if not self.page.locator("#sign-pin").count():
            self.page.reload()
        return bool(self.page.locator("#sign-pin").count())

    def sign(self, meaning: str, name: str, pin: str, *, place: str = "hood.1") -> None:
        self.page.goto(f"{self.served.url}/bay/{self.job}/sign/{meaning}/?panel={place}")
        self.until(self.may_sign)
        self.page.get_by_role("radio", name=re.compile(f"^{name}")).check()
        self.page.fill("#sign-pin", pin)
        with self.page.expect_navigation():
            self.page.get_by_role("button", name="Sign").last.click()
        reasons = self.page.locator("[data-reason]").all_inner_texts() if "/sign/" in self.page.url else []
        assert "/sign/" not in self.page.url, reasons
