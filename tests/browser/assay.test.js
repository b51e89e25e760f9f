// The assay page as a person uses it.

import assert from "node:assert/strict";
import { mkdtempSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { after, before, test } from "node:test";

import { Bench, PHONE, charts, drop, dropFolder, example, found, overflows, violations } from "./bench.js";

let bench;
let dented;
before(async () => (bench = await Bench.start()));
after(async () => bench.stop());

const HARBOUR = ["harbour-75/open.s1p", "harbour-75/load.s1p"];
const STAIRS = ["stairs-dented/open.s1p", "stairs-dented/load.s1p"];

/** Goes to an element with the tabulator. */
async function reach(page, locator) {
  for (let presses = 0; presses < 80; presses += 1) {
    if (await locator.evaluate((e) => e === document.activeElement)) return;
    await page.keyboard.press("Tab");
  }
  assert.fail(`the keyboard does not reach ${locator}`);
}

/** The dented cable, found once: a fault takes seconds to find. */
async function stairs(options) {
  dented ??= bench.assay("stairs-dented", { length: "4.210m", load_ohms: "50.05", marked_impedance: "50" });
  const page = await bench.page({ ...options, address: `/assay/${await dented}` });
  await found(page);
  return page;
}

test("sweeps that are dropped give a finding, and facts change it without pressing anything", async () => {
  const page = await bench.page();
  await drop(page, ...HARBOUR);
  assert.match(await found(page), /^Keep it: .*\s7[34].* ohm/s);
  assert.match(page.url(), /\/assay\/[0-9a-f]{32}$/);
  assert.equal(await page.getByRole("group", { name: "load.s1p" }).getByLabel("load", { exact: true }).isChecked(), true);
  await page.getByLabel("Length by tape").fill("2,4m");
  await page.locator(".sentence", { hasText: "2.40 m" }).waitFor();
  await page.getByLabel("Length by tape").fill("2.4");
  await page.locator("#length-wrong", { hasText: "2.4ft" }).waitFor();
  assert.equal(await page.getByLabel("Length by tape").inputValue(), "2.4", "what was typed stays");
  await page.getByLabel("Length by tape").fill("2.4m");
  await page.locator("#result:not(.stale) .sentence", { hasText: "2.40 m" }).waitFor();
  await page.getByLabel("Calibration load by ohmmeter").fill("50.05");
  await page.reload(); // at once: what was typed is not lost
  assert.equal(await page.getByLabel("Calibration load by ohmmeter").inputValue(), "50.05");
  assert.match(await found(page), /2\.40 m/);
  assert.equal(await page.getByLabel("Length by tape").inputValue(), "2.4m");
  await page.goBack();
  await page.getByText("Drop the sweeps of one cable here").waitFor();
  await page.goForward();
  assert.match(await found(page), /2\.40 m/);
  assert.deepEqual(page.faults, []);
});

test("a click after typing is not lost when the field is left", async () => {
  const page = await bench.page();
  await drop(page, ...HARBOUR);
  await found(page);
  await page.getByLabel("Length by tape").fill("2.4m");
  await page.locator("#result:not(.stale) .sentence", { hasText: "2.40 m" }).waitFor();
  // a hand presses a key of the mouse for a while
  await page.locator("#methods summary").click({ delay: 600 });
  await page.locator("#methods[open]").waitFor();
});

test("files fall from the desktop too", async () => {
  const page = await bench.page();
  await page.evaluate(() => {
    const data = new DataTransfer();
    data.items.add(new File(["# MHz S RI R 50\n1 0.9 0\n2 x 0\n"], "short.s1p"));
    document.getElementById("drop").dispatchEvent(new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer: data }));
  });
  await page.getByText("short.s1p, line 3").waitFor();
});

test("a folder is dropped with the mouse", async () => {
  const page = await bench.page();
  await dropFolder(page, "#drop", example("harbour-75"));
  assert.match(await found(page), /\s7[34].* ohm/);
  assert.equal(await page.locator(".sweep").count(), 2, "its notes are no sweep");
});

test("a kit and criteria come as files, and a standard swept again is no cable", async () => {
  const page = await bench.page();
  await drop(page, ...HARBOUR);
  await found(page);
  await page.getByText("Use and acceptance limits", { exact: true }).click();
  const criteria = { name: "club.toml", mimeType: "text/plain", buffer: Buffer.from("impedance_tolerance = 0.001\n") };
  await page.locator("#criteria-file").setInputFiles(criteria);
  await page.getByText("limit from your criteria file").waitFor({ state: "attached" });
  await page.getByText("The calibrated plane", { exact: true }).click();
  await page.locator("#kit-file").setInputFiles({ ...criteria, name: "kit.toml", buffer: Buffer.from("[standards.open]\nkind = 1\n") });
  await page.locator("#kit-wrong", { hasText: /line 2/ }).waitFor();
  assert.match(await page.locator("#kit").inputValue(), /kind = 1/, "its text stays to be mended");
  await page.locator("#kit").fill("");
  await page.locator("#kit-wrong").filter({ hasText: /./ }).waitFor({ state: "detached" });
  const row = page.getByRole("group", { name: "load.s1p" });
  await row.getByText("Not a sweep of this cable").click();
  await row.getByLabel("load again").check({ force: true });
  await page.locator("#result:not([aria-busy]) .sentence").waitFor();
  assert.equal(await row.getByLabel("load again").isChecked(), true);
  assert.deepEqual(await violations(page), []);
});

/** A resistor of 75 ohm at the plane, against 50 ohm. */
const resistor = () => {
  const rows = Array.from({ length: 101 }, (_, i) => `${1 + 3 * i} 0.2002 0.0001`);
  return { name: "r75.s1p", mimeType: "text/plain", buffer: Buffer.from(`# MHz S RI R 50\n${rows.join("\n")}\n`) };
};

/** The page of the harbour cable with the resistor's sweep, and the row of that. */
async function withResistor(options) {
  const page = await bench.page(options);
  await drop(page, ...HARBOUR);
  await found(page);
  await page.setInputFiles("#files", resistor());
  const row = page.getByRole("group", { name: "r75.s1p" });
  await row.waitFor();
  await page.locator("#result:not([aria-busy]) .sentence").waitFor();
  return { page, row };
}

test("a known part at the plane is named by mouse", async () => {
  const { page, row } = await withResistor();
  assert.equal(await row.getByLabel("Which part").isVisible(), false, "it is asked when there is one");
  await row.getByText("Not a sweep of this cable").click();
  await row.getByText("another known part").click();
  await row.locator(".wrong", { hasText: "name the part" }).waitFor();
  await row.getByLabel("Which part").fill("75 stone");
  await row.locator(".wrong", { hasText: "`75 stone` is not a known part" }).waitFor();
  assert.deepEqual(await violations(page), []);
  await row.getByLabel("Which part").fill("75ohm");
  await page.locator("#result:not(.stale, [aria-busy]) .sentence").waitFor();
  await row.getByText(/^101 points/).waitFor();
  assert.equal(await row.locator(".wrong").innerText(), "");
  assert.deepEqual(await violations(page), []);
  await page.reload();
  assert.equal(await row.getByLabel("another known part").isChecked(), true);
  assert.equal(await row.getByLabel("Which part").inputValue(), "75ohm");
  await page.getByLabel("Length of the shorter piece by tape").waitFor({ state: "hidden" });
  await row.getByText("shorter piece", { exact: true }).click();
  await page.locator("#shorter_length-wrong", { hasText: "length of the shorter piece" }).waitFor();
  assert.equal(await row.getByLabel("Which part").isVisible(), false);
  await page.getByLabel("Length of the shorter piece by tape").fill("0.5m");
  await row.getByText("has one port: a through sweep needs two").waitFor();
  assert.deepEqual(page.faults, []);
});

test("a known part at the plane is named by keyboard, and nothing typed meanwhile is lost", async () => {
  const { page, row } = await withResistor();
  await row.getByText("Not a sweep of this cable").focus();
  await page.keyboard.press("Enter");
  await row.getByLabel("open again").focus();
  for (let presses = 0; presses < 3; presses += 1) await page.keyboard.press("ArrowRight");
  assert.equal(await row.getByLabel("another known part").isChecked(), true);
  await row.locator(".wrong", { hasText: "name the part" }).waitFor();
  await reach(page, row.getByLabel("Which part"));
  // Letters that are keys of the row are letters here; what is half typed is asked, and the rest follows.
  await page.keyboard.type("75ohm+-1ohm", { delay: 90 });
  await page.locator("#result:not(.stale, [aria-busy]) .sentence").waitFor();
  await row.getByText(/^101 points/).waitFor();
  assert.equal(await row.getByLabel("Which part").inputValue(), "75ohm+-1ohm");
  assert.equal(await row.getByLabel("Which part").evaluate((e) => e === document.activeElement), true, "the focus stays");
  assert.equal(await row.getByLabel("another known part").isChecked(), true);
  await page.keyboard.press("Backspace");
  assert.equal(await row.getByLabel("Which part").inputValue(), "75ohm+-1oh", "and the place in the text");
  assert.deepEqual(page.faults, []);
});

test("advice leads to the field that takes what it asks for", async () => {
  const page = await bench.page();
  await drop(page, ...HARBOUR);
  await found(page);
  assert.doesNotMatch(await page.locator("#result").innerText(), /--\w/, "no options of the command line");
  await page.getByRole("link", { name: "Length by tape" }).click();
  assert.match(page.url(), /#length$/);
});

test("the chart is hovered, the cursor moves, an event is shown everywhere", async () => {
  const page = await stairs();
  await charts(page);
  const curve = page.locator('[data-picture="profile"] .nsewdrag').first();
  await curve.hover();
  await page.locator('[data-picture="profile"] .hoverlayer', { hasText: "from the far end" }).waitFor();
  await page.locator('[data-picture="smith"] .nsewdrag').first().scrollIntoViewIfNeeded();
  const smith = await page.locator('[data-picture="smith"] .nsewdrag').first().boundingBox();
  // Along the rim, where an open cable's reflection runs.
  const reading = page.locator('[data-picture="smith"] .hoverlayer', { hasText: "X " });
  for (let turn = 0; turn < 24 && !(await reading.count()); turn += 1) {
    const angle = (turn * Math.PI) / 12;
    await page.mouse.move(smith.x + smith.width * (0.5 + 0.43 * Math.cos(angle)), smith.y + smith.height * (0.5 + 0.43 * Math.sin(angle)));
    await page.waitForTimeout(60);
  }
  assert.match(await reading.first().textContent(), /MHz[^]*R [\d.−]+ ohm[^]*X [\d.−]+ ohm[^]*Γ/);
  const before = await page.locator("#reading").innerText();
  await page.locator("#cursor").focus();
  await page.keyboard.press("ArrowRight");
  assert.notEqual(await page.locator("#reading").innerText(), before);
  const event = page.locator("button[data-event='0']");
  await event.click();
  assert.equal(await event.getAttribute("aria-pressed"), "true");
  assert.equal(await page.locator("dd[data-event='0'].chosen").count(), 1);
  assert.equal(await page.locator("[data-picture='profile'] .shapelayer path").count(), 2, "line and interval");
  for (const picture of ["smith", "loss", "return-loss"]) {
    await page.locator(`[data-picture="${picture}"]`, { hasText: "has no place here" }).waitFor();
  }
  assert.equal(await page.locator("[data-picture='return-loss'] .shapelayer path").count(), 2, "cursor and period");
  await event.click();
  assert.equal(await page.getByText("has no place here").count(), 0);
  assert.equal(await page.getByText(/upload|cloud/i).count(), 0);
  assert.deepEqual(page.faults, []);
});

test("what ended the cable is changed with one key", async () => {
  const page = await bench.page();
  await drop(page, ...HARBOUR);
  await found(page);
  const row = page.getByRole("group", { name: "load.s1p" });
  await row.getByLabel("load", { exact: true }).focus();
  await page.keyboard.press("t");
  await page.getByText("through needs a two-port sweep").first().waitFor();
  assert.equal(await row.getByLabel("through", { exact: true }).isChecked(), true);
  assert.equal(await page.evaluate(() => document.activeElement.value), "through", "the focus stays");
  await page.keyboard.press("l");
  await page.getByText("through needs a two-port sweep").waitFor({ state: "detached" });
  assert.equal(await row.getByLabel("load", { exact: true }).isChecked(), true);
});

test("by keyboard alone from the first page to the shelf", async () => {
  const page = await bench.page();
  await page.keyboard.press("Tab");
  assert.equal(await page.evaluate(() => document.activeElement.textContent), "Skip to content");
  await page.keyboard.press("Enter");
  await reach(page, page.getByRole("button", { name: "Cable from the stairs" }));
  await page.keyboard.press("Enter");
  await found(page);
  await reach(page, page.locator("button[data-event='0']"));
  await page.keyboard.press("Space");
  assert.equal(await page.locator("button[data-event='0']").getAttribute("aria-pressed"), "true");
  await reach(page, page.getByLabel("Tag of the cable"));
  await page.keyboard.type("stairs-1");
  await page.keyboard.press("Enter");
  await page.getByText("Stored under stairs-1, a new cable.").waitFor();
});

test("a wrong file is named, the rest goes on, and nothing typed is lost", async () => {
  const page = await bench.page();
  const folder = mkdtempSync(path.join(tmpdir(), "lineproof-wrong-"));
  const wrong = path.join(folder, "short.s1p");
  writeFileSync(wrong, "# GHz S MA R 50\n1.2 0.94 -31\n1.3 0.94 -31.x2\n");
  await page.getByLabel("Length by tape").fill("2.41m");
  await drop(page, ...HARBOUR, wrong);
  assert.match(await found(page), /2\.41/);
  await page.getByText(/short\.s1p, line 3: expected a number/).waitFor();
  assert.equal(await page.getByLabel("Length by tape").inputValue(), "2.41m");
});

test("the sweeps are shown before it is found what is wrong with them", async () => {
  const page = await bench.page();
  await page.evaluate(() => {
    window.looked = [];
    const note = () => window.looked.push(...[...document.querySelectorAll("#result .looking ~ .pictures svg")].map((svg) => svg.id || "picture"));
    new MutationObserver(note).observe(document.body, { childList: true, subtree: true });
  });
  await drop(page, "stairs-dented/open.s1p", "stairs-dented/load.s1p");
  assert.match(await found(page), /faulty/);
  assert.ok((await page.evaluate(() => window.looked.length)) >= 2, "both pictures stood there first");
  assert.deepEqual(page.faults, []);
});

test("a run is cancelled and taken up again", async () => {
  const other = await Bench.start();
  try {
    const page = await other.page();
    // Others keep the places busy for some seconds.
    const before = Array.from({ length: 6 }, () => other.assay("stairs-dented", {}, false));
    const ids = await Promise.all(before);
    await drop(page, ...HARBOUR);
    await page.locator("#progress").getByRole("button", { name: "Cancel" }).click();
    await page.locator("#result .refused", { hasText: "Cancelled. The sweeps are still here." }).waitFor();
    await Promise.all(ids.map((id) => fetch(`${other.origin}/api/assays/${id}/run`, { method: "DELETE" })));
    await page.getByRole("button", { name: "Run again" }).click();
    assert.match(await found(page), /ohm/);
  } finally {
    await other.stop();
  }
});

test("report, numbers and pictures are saved", async () => {
  const page = await stairs();
  for (const name of ["Report", "Numbers (CSV)", "Finding (JSON)"]) {
    const [file] = await Promise.all([page.waitForEvent("download"), page.getByRole("link", { name, exact: true }).click()]);
    assert.match(file.suggestedFilename(), /^(report\.html|finding\.(csv|json))$/);
  }
});

test("feet are shown where they are liked", async () => {
  const page = await stairs();
  await page.getByRole("button", { name: "Lengths in metres" }).click();
  await page.getByText("dB/100ft").first().waitFor({ state: "attached" });
  assert.match(await page.locator("button[data-event='0']").innerText(), /5\.3\d* ± .* ft/);
});

for (const [name, options] of Object.entries({
  phone: { viewport: PHONE },
  "wide screen": { viewport: { width: 1600, height: 1000 } },
  "dark phone": { viewport: PHONE, colorScheme: "dark" },
  "dark wide screen": { colorScheme: "dark" },
})) {
  test(`nothing sticks out and axe finds nothing: ${name}`, async () => {
    const first = await bench.page(options);
    assert.deepEqual(await overflows(first), []);
    assert.deepEqual(await violations(first), []);
    const page = await stairs(options);
    await charts(page);
    await page.evaluate(() => document.querySelectorAll("details").forEach((details) => (details.open = true)));
    assert.deepEqual(await overflows(page), []);
    assert.deepEqual(await violations(page), []);
    assert.deepEqual(page.faults, []);
  });
}

test("without scripts the finding is there as well", async () => {
  const page = await bench.page({ javaScriptEnabled: false });
  await page.getByRole("button", { name: "Cable from the stairs" }).click();
  assert.match(await page.locator(".sentence").innerText(), /faulty/);
  assert.equal(await page.locator("figure.picture > svg").count(), 4);
});

test("how long it takes", async (t) => {
  const page = await bench.page();
  const times = [];
  for (let turn = 0; turn < 5; turn += 1) {
    await page.goto(bench.origin);
    const start = Date.now();
    await drop(page, ...HARBOUR);
    await found(page);
    times.push(Date.now() - start);
  }
  t.diagnostic(`from drop to sentence, ms: ${times.join(", ")}`);
});

test("no request has left the origin", () => assert.deepEqual(bench.foreign, []));
